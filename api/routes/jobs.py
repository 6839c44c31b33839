"""The pages of the other jobs: is this jug right, drain and top up, fluid or hardware, which ring."""

from collections.abc import Callable, Mapping
from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from api.charts.shift import shift_chart
from api.http.handlers import QUESTION_ERRORS, asked_by_link, check_address, refusal
from api.http.problems import Refused
from api.http.tagged_route import TaggedRoute
from api.permalink import address, as_given, at_the_counter, box_of, flat_fields, is_tidy
from api.routes.dependencies import Base, PageLane, ShopNow
from api.shop import Snapshot
from api.views.complaint import complaint_view
from api.views.page import box_page
from api.views.rows import JOBS
from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion, FlatFillQuestion
from knowledge.drain.compute import compute_drain_answer
from knowledge.drain.question import FlatDrainQuestion
from knowledge.ids import with_ids
from knowledge.jug.compute import compute_jug_answer
from knowledge.jug.question import FlatJugQuestion
from knowledge.parts.digits import rounded
from knowledge.rings.shift_question import FlatShiftQuestion
from knowledge.shift.compute import full_shift_answer
from knowledge.shop.shop import Shop, filled_in
from knowledge.symptom.question import FlatSymptomQuestion

router = APIRouter(include_in_schema=False, route_class=TaggedRoute)
OTHER = "other_"
# A word that label and box share is said of the box on a page.
OF_BOX = {"limited_slip": "box_limited_slip"}
Values = Mapping[str, str]
Views = Callable[[Values, KnowledgeBase, Shop], dict[str, Any]]


def add_page(job: str, model: type[Any], views: Views) -> None:
    """The page of a job, whose question by link is of this model."""

    async def shown(request: Request, base: Base, now: ShopNow, lane: PageLane) -> Response:
        return await lane.run(_job_page, job, model, views, request, base, now)

    router.add_api_route(f"/{job}", shown, name=job)


def _job_page(
    job: str, model: type[Any], views: Views, request: Request, base: KnowledgeBase, now: Snapshot
) -> Response:
    """The page of a job: its rows, those of the box, and its answer once anything of the job is known."""
    given = request.query_params.multi_items()
    values = at_the_counter(given)
    if not is_tidy(given, values):
        return RedirectResponse(address(job, values))
    template = f"{job}.html"
    try:
        check_address(request)
        box = with_ids(asked_by_link(FlatFillQuestion, as_given(box_of(values))), base, now.shop.ids)
        filled, _ = filled_in(box, now.shop)
        shown = views(values, base, now.shop)
    except (Refused, *QUESTION_ERRORS) as error:
        refused = refusal(error, "query", lambda _: model)
        return box_page(template, values, base, now, job=job, mistakes=refused.errors, status=refused.status_code)
    return box_page(template, values, base, now, job=job, ours=flat_fields(filled), **shown)


def _named(values: Values, job: str) -> dict[str, str]:
    """What is said of the job itself."""
    own = {name for row in JOBS[job].values() for name in row}
    return {name: value for name, value in values.items() if name in own}


def _jugs(values: Values, base: KnowledgeBase, shop: Shop) -> dict[str, Any]:
    said = _named(values, "jug")
    first = {name: value for name, value in said.items() if not name.startswith(OTHER)}
    second = {name.removeprefix(OTHER): value for name, value in said.items() if name.startswith(OTHER)}
    box = {OF_BOX.get(name, name): value for name, value in values.items() if name not in said}

    def read(jug: Values) -> Any:
        return compute_jug_answer(asked_by_link(FlatJugQuestion, as_given({**box, **jug})), base, shop, "short")

    return {"view": [read(jug) for jug in (first, second) if jug]}


def _drained(values: Values, base: KnowledgeBase, shop: Shop) -> dict[str, Any]:
    if not _named(values, "drain") and "in_it_family" not in values:
        return {}
    asked = asked_by_link(FlatDrainQuestion, as_given(values))
    return {"view": compute_drain_answer(asked, base, shop, "short"), "is_top_up": asked.top_up_l is not None}


def _shifted(values: Values, base: KnowledgeBase, shop: Shop) -> dict[str, Any]:
    driven = with_ids(FillQuestion(duty=values.get("duty")), base).duty
    duty = base.duties[driven or next(iter(base.duties))]
    usual: dict[str, str] = {
        "inertia_kg_m2": f"{duty.inertia_kg_m2}",
        "speed_difference_rpm": f"{duty.speed_difference_rpm:g}",
        "shift_force_n": f"{duty.shift_force_n:g}",
    }
    names = {"condition", *FlatShiftQuestion.model_fields}
    said = {name: value for name, value in values.items() if name in names and value != "none"}
    answer = full_shift_answer(asked_by_link(FlatShiftQuestion, as_given({**usual, **said})), base)
    figures = {
        name: rounded(value, answer.standings[name], most=3)
        for name in ("sync_time_s", "cone_torque_nm", "interface_peak_c")
        if (value := getattr(answer, name)) is not None
    }
    taken = {item.pointer.strip("/"): item.value for item in answer.question.assumed}
    facings = {row.id: row.name for row in base.facings.values()}
    picture = shift_chart(answer).svg()
    return {"view": answer, "figures": figures, "picture": picture, "names": facings, "usual": usual | taken}


add_page("jug", FlatJugQuestion, _jugs)
add_page("drain", FlatDrainQuestion, _drained)
add_page("complaint", FlatSymptomQuestion, complaint_view)
add_page("ring", FlatShiftQuestion, _shifted)
