"""The knowledge, browsable: every id that stands in an answer resolves here."""

from typing import Annotated, Any

from fastapi import APIRouter

from api.http.problems import documented, known_id
from api.http.strict_route import StrictRoute
from api.routes.dependencies import Base, named
from knowledge.catalogue import CATALOGUES, Catalogue, Entry, Knowledge, knowledge_export
from knowledge.fluids.scales import Grades, grade_ids, scale_rows

router = APIRouter(prefix="/v1", tags=["knowledge"], route_class=StrictRoute, responses=documented())
UNKNOWN = documented(404)


def add_routes(browsed: Catalogue) -> None:
    """The list of a catalogue, and each of its entries by its id."""

    path, entry, model = f"/{browsed.path}", browsed.lists[browsed.name], browsed.model

    async def listed(base: Base) -> Any:
        return model(**browsed.answer(base))

    async def one(id: Annotated[str, named(f"/v1/{browsed.path}", browsed.example)], base: Base) -> Any:
        entries = browsed.entries(base)
        return Entry(knowledge=base.stamp, entry=entries[known_id(id, entries)])

    router.add_api_route(path, listed, name=browsed.name, response_model=model, description=browsed.about)
    router.add_api_route(
        f"{path}/{{id}}",
        one,
        name=browsed.one,
        response_model=Entry[entry],  # type: ignore[valid-type]  # the model of this catalogue's entries
        description=browsed.about_one,
        responses=UNKNOWN,
    )


for browsed in CATALOGUES:
    add_routes(browsed)


@router.get("/grades")
async def grades(base: Base) -> Grades:
    """Viscosity grades: SAE J306 in each edition, SAE J300, ISO 3448."""
    return scale_rows(base)


@router.get("/grades/{id}", responses=UNKNOWN)
async def grade(id: Annotated[str, named("/v1/grades", "75w-90")], base: Base) -> Grades:
    """What a grade name means in each scale that has it; `75w-90` by its parts, `vg-32` as ISO 3448."""
    known = grade_ids(base)
    parts = id.lower().split("-")
    if len(parts) > 2 or not set(parts) <= set(known):
        id = known_id(id, known)
    return scale_rows(base, id.lower())


@router.get("/knowledge")
async def knowledge(base: Base) -> Knowledge:
    """Version, digest, editions, counts, and every table whole."""
    return knowledge_export(base)
