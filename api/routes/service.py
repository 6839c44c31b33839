"""For whoever runs the service: is it up, which version, what does a problem mean."""

from importlib.metadata import version
from typing import Annotated

from fastapi import APIRouter, Request, Response
from prometheus_client import CONTENT_TYPE_LATEST
from pydantic import BaseModel
from starlette.responses import PlainTextResponse

from api.http.problems import KINDS, ProblemPage, documented, known_id
from api.http.strict_route import StrictRoute
from api.routes.dependencies import Base, ShopNow, named
from knowledge.parts.provenance import KnowledgeStamp
from knowledge.shop.models import ShopState

router = APIRouter(
    tags=["service"],
    route_class=StrictRoute,
    responses=documented(),
    generate_unique_id_function=lambda route: route.name,
)
VERSION = version("fillwright")
# What counts the requests is asked by the shop's own machines alone.
metrics_router = APIRouter(route_class=StrictRoute)


class Health(BaseModel):
    """The process answers."""

    status: str


class Ready(BaseModel):
    """The knowledge is loaded, so questions can be answered; `shop` names an edit that cannot be used."""

    status: str
    knowledge: KnowledgeStamp
    shop: ShopState


class Version(BaseModel):
    """Which program and which knowledge answer here."""

    program: str
    knowledge: KnowledgeStamp


class Problems(BaseModel):
    """Every kind of problem this service answers with."""

    problems: tuple[ProblemPage, ...]


@router.get("/healthz")
async def healthz() -> Health:
    """Whether the process answers."""
    return Health(status="ok")


@router.get("/readyz")
async def readyz(base: Base, shop: ShopNow) -> Ready:
    """Whether questions can be answered; the tables are read and checked before the service listens.

    A broken edit of the shop's tables keeps the service ready with the state before it, and is named in `shop`.
    """
    return Ready(status="ready", knowledge=base.stamp, shop=shop.state)


@metrics_router.get("/metrics", response_class=PlainTextResponse, include_in_schema=False)
async def metrics(request: Request) -> Response:
    """Requests, durations, memory and the knowledge that answers, for Prometheus; each process counts for itself."""
    return Response(request.app.state.metrics.text(), media_type=CONTENT_TYPE_LATEST)


@router.get("/version", name="version")
async def program_version(base: Base) -> Version:
    """The version of the program and of the knowledge."""
    return Version(program=VERSION, knowledge=base.stamp)


@router.get("/problems")
async def problems() -> Problems:
    """Every kind of problem this service answers with."""
    return Problems(problems=tuple(KINDS.values()))


@router.get("/problems/{slug}", responses=documented(404))
async def problem_page(slug: Annotated[str, named("/problems", "invalid-request")]) -> ProblemPage:
    """What one kind of problem means and how to put it right."""
    return KINDS[known_id(slug, KINDS)]
