"""Pages for people: the counter, the slip and the public questions, from the same answers as the API."""

from collections.abc import Mapping
from typing import Any
from urllib.parse import urlsplit

from fastapi import APIRouter, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import RedirectResponse

from api.charts.leader_map import leader_map_svg
from api.charts.window import window_svg
from api.http.handlers import check_address, refusal, validated
from api.http.middleware import SHELF_TAG, content_policy
from api.http.moment import today
from api.http.problems import Refused, known_id
from api.http.tagged_route import TaggedRoute
from api.permalink import address, as_given, at_the_counter, box_of, cleaned, flat_fields, is_tidy
from api.routes.dependencies import Base, CurrentShop, LongLane, PageLane, ShopNow
from api.shop import Snapshot
from api.slip_code import NoSlipNumber, read_number
from api.views.behind import firmness_view, turns_view
from api.views.fill import fill_view
from api.views.page import CUSTOMERS, box_page, page
from api.views.rows import legends, rows_of
from api.views.slip import STAMPS, slip, stamped, upkeep_lines
from knowledge.base import KnowledgeBase
from knowledge.box.circumstances import knows_nothing
from knowledge.box.question import FillQuestion, FlatFillQuestion, link_query
from knowledge.errors import UnknownIds
from knowledge.faq import FaqEntry, FaqRow, faq_entries
from knowledge.fill.compute import compute_fill_answer
from knowledge.fill.firmness import FirmnessQuestion, firmness
from knowledge.fill.leader_map import leader_map
from knowledge.fill.turns import turns_of
from knowledge.fill.working_window import working_window
from knowledge.ids import with_ids
from knowledge.loading.custom_rows import RingLookRow
from knowledge.rings.looks import ring_guide
from knowledge.shop.shop import NO_SHOP, Shop, filled_in

router = APIRouter(include_in_schema=False, route_class=TaggedRoute)
WRONG_NUMBER = "This is no number of a slip: a sign is missing or wrong. Compare it with the paper."
NO_SLIP_NUMBER = Refused.parameter("number", "no_slip_number", WRONG_NUMBER)


@router.get("/", tags=[SHELF_TAG])
async def counter(request: Request, base: Base, now: ShopNow, lane: PageLane) -> Response:
    """The counter: what is known of the box on one side, what to fill on the other; the address holds the question."""
    return await lane.run(_box_and_answer, request, base, now, is_public=request.app.state.settings.public)


@router.get("/ask")
async def customers_counter(request: Request, base: Base, lane: PageLane) -> Response:
    """The same as customers see it: without the shop's boxes, its shelf and its slips."""
    return await lane.run(_box_and_answer, request, base, Snapshot(NO_SHOP), is_public=True)


def _box_and_answer(request: Request, base: KnowledgeBase, now: Snapshot, *, is_public: bool = False) -> Response:
    given = request.query_params.multi_items()
    values, here = at_the_counter(given), "ask" if is_public else "./"
    if not is_tidy(given, values):
        return RedirectResponse(address(here, values))
    try:
        asked = _counted(request, values, base, now.shop)
    except Refused as refused:
        mistakes, status = refused.errors, refused.status_code
        return box_page("counter.html", values, base, now, is_public=is_public, mistakes=mistakes, status=status)
    answer = compute_fill_answer(asked, base, now.shop)
    filled, from_box = filled_in(asked, now.shop)
    stated = {**values, "use_shelf": "true"} if asked.use_shelf else values
    return box_page(
        "counter.html",
        values,
        base,
        now,
        is_public=is_public,
        ours=flat_fields(filled),
        view=fill_view(answer, from_box, base, has_shelf=asked.use_shelf, page=here),
        knows_nothing=not values,
        slip=stamped("slip", stated, answer, today(request)),
        picture=None if knows_nothing(filled) else _picture(asked, base, now.shop),
    )


@router.get("/why", tags=[SHELF_TAG])
async def why(request: Request, base: Base, now: ShopNow, lane: PageLane) -> Response:
    """The reasons behind an answer: figures, cautions, the other classes."""
    return await lane.run(_why, request, base, now)


def _why(request: Request, base: KnowledgeBase, now: Snapshot) -> Response:
    values = at_the_counter(request.query_params.multi_items())
    try:
        asked = _counted(request, values, base, now.shop)
    except Refused as refused:
        return box_page("counter.html", values, base, now, mistakes=refused.errors, status=refused.status_code)
    answer: Any = compute_fill_answer(asked, base, now.shop, "full")
    _, from_box = filled_in(asked, now.shop)
    return page(
        "why.html",
        query=address("", values),
        view=fill_view(answer, from_box, base, has_shelf=asked.use_shelf),
        window_of=working_window(asked, base, now.shop),
        upkeep=tuple(upkeep_lines(answer.upkeep)),
    )


@router.get("/turns")
async def turns_page(request: Request, base: Base, shop: CurrentShop, lane: LongLane) -> Response:
    """What would change an answer."""
    query, asked = _of_box(request, base, shop)
    found = await lane.run(turns_of, asked, base, shop)
    return page("behind.html", head="What would change it", query=query, turns=turns_view(found), firmness=None)


@router.get("/firmness")
async def firmness_page(request: Request, base: Base, shop: CurrentShop, lane: LongLane) -> Response:
    """How firm an answer is."""
    query, asked = _of_box(request, base, shop)
    found = await lane.run(firmness, FirmnessQuestion(question=asked), base, shop)
    told = firmness_view(found, base)
    return page("behind.html", head="How firm it is", query=query, turns=None, firmness=told)


@router.get("/map")
async def map_page(request: Request, base: Base, shop: CurrentShop, lane: LongLane) -> Response:
    """Who leads over coldest start and hottest oil."""
    query, asked = _of_box(request, base, shop)
    picture = leader_map_svg(await lane.run(leader_map, asked, base, shop))
    head = "Colder or hotter: what leads then"
    return page("behind.html", head=head, query=query, turns=None, firmness=None, picture=picture)


def _of_box(request: Request, base: KnowledgeBase, shop: Shop) -> tuple[str, FillQuestion]:
    """The box of an address, as a query and as its question.

    Errors: Refused, when a field is given twice or cannot be used, or an id is not known.
    """
    values = at_the_counter(request.query_params.multi_items())
    return address("", values), _question(request, values, base, shop)


@router.get("/how")
async def how_to_tell(request: Request, base: Base) -> Response:
    """How to find out what a field of the counter asks for."""
    query = address("", at_the_counter(request.query_params.multi_items()))
    return page("how.html", query=query, unknowns=base.unknowns.values())


@router.get("/rings")
async def rings_page(request: Request, base: Base) -> Response:
    """What the rings are faced with: what is seen of one, step by step, to a facing or to what is left of them."""
    values = at_the_counter(request.query_params.multi_items())
    steps = {row.step for row in base.rows(RingLookRow)}
    box = box_of(values)
    guide = ring_guide({name: value for name, value in values.items() if name in steps}, base)
    return page("rings.html", here="rings", query=address("", box), box=box, values=values, guide=guide, base=base)


@router.get("/slip")
async def slip_page(request: Request, base: Base, now: ShopNow, lane: PageLane) -> Response:
    """What is handed over the counter, on one page of paper."""
    return await lane.run(_slip, request, base, now)


def _slip(request: Request, base: KnowledgeBase, now: Snapshot) -> Response:
    given = request.query_params.multi_items()
    values = cleaned(given)
    names = legends(rows_of("box", values, base, now.shop)) | {"number": "Slip number"}
    try:
        if (number := values.pop("number", None)) is not None:
            stated, id, day = read_number(number)
            return RedirectResponse(address("slip", cleaned(stated.items()), id=id, given=f"{day}"))
        stamps = {name: values.pop(name) for name in STAMPS if name in values}
        asked = _question(request, values, base, now.shop)
        answer: Any = compute_fill_answer(asked, base, now.shop, "full")
    except NoSlipNumber:
        return page("slip.html", NO_SLIP_NUMBER.status_code, view=None, mistakes=NO_SLIP_NUMBER.errors, legends=names)
    except Refused as refused:
        return page("slip.html", refused.status_code, view=None, mistakes=refused.errors, legends=names)
    form = rows_of("box", flat_fields(answer.question), base, now.shop)
    view = fill_view(answer, answer.question.from_box, base, has_shelf=answer.question.use_shelf)
    written = slip(values, answer, form, stamps, _slip_address(request), today(request), base)
    return page(
        "slip.html",
        view=view,
        slip=written,
        query=address("", values),
        picture=_picture(answer.question, base, now.shop),
    )


@router.get("/faq")
async def faq_page(request: Request, base: Base) -> Response:
    """Questions customers ask; the shop's own pages may show it in a frame."""
    heads: dict[str, list[tuple[FaqEntry, str]]] = {}
    for entry in faq_entries(base):
        link = f"ask?{link_query(entry.counter.question())}" if entry.counter else "ask"
        heads.setdefault(entry.head, []).append((entry, link))
    response = page("faq.html", here="faq", jobs=CUSTOMERS, more=(), heads=heads, base=base)
    response.headers["Content-Security-Policy"] = content_policy("'self'", *request.app.state.origins)
    return response


@router.get("/faq/{id}")
async def faq_anchor(id: str, base: Base) -> Response:
    """One of these questions, where it stands on the page."""
    return RedirectResponse(f"../faq#{known_id(id, base.by_id(FaqRow))}")


def _slip_address(request: Request) -> str:
    """The whole address of slips, as it is read from paper."""
    address: str = request.scope["address"]
    here = f"{request.url.scheme}://{request.url.netloc}" if not urlsplit(address).netloc else ""
    return f"{here}{address}/slip"


def _counted(request: Request, values: Mapping[str, str], base: KnowledgeBase, shop: Shop) -> FillQuestion:
    """The question of an address at the counter, where the shelf is at hand.

    Errors: Refused, when a field is given twice or cannot be used, or an id is not known.
    """
    question = _question(request, values, base, shop)
    return question.model_copy(update={"use_shelf": True}) if shop.shelf else question


def _picture(question: FillQuestion, base: KnowledgeBase, shop: Shop) -> str | None:
    """The working window; None where nothing leads."""
    window = working_window(question, base, shop)
    return window_svg(window) if window.bars else None


def _question(request: Request, values: Mapping[str, str], base: KnowledgeBase, shop: Shop) -> FillQuestion:
    """The question of the flat fields of an address, with ids in place of words.

    Errors: Refused, when a field is given twice or cannot be used, or an id is not known.
    """
    try:
        check_address(request)
        question = validated(FlatFillQuestion, as_given(values), "query").question()
        return with_ids(question, base, shop.ids)
    except (RequestValidationError, UnknownIds) as error:
        raise refusal(error, "query", lambda _: FlatFillQuestion) from None
