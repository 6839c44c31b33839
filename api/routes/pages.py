"""Pages for people: the counter, the slip and the public questions, from the same answers as the API."""

from collections.abc import Iterable, Mapping
from datetime import date
from http import HTTPStatus
from pathlib import Path
from typing import Any, NamedTuple

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse
from pydantic import ValidationError

from api.charts.bands import bands_chart
from api.http.handlers import MOST_ERRORS
from api.http.headers import content_policy
from api.http.problems import unknown_entry
from api.permalink import address, cleaned, field_of, repeated
from api.rendering import rendered
from api.routes.dependencies import Base, ShopNow
from api.routes.documentation import page
from api.slip_code import NoSlipNumber, read_number
from api.views.counter_form import counter_form, legends
from api.views.fill import fill_view
from api.views.shift import shift_view
from api.views.slip import STAMPS, slip, stamped, understood
from api.wording import ProblemError, mistakes, unknown_id
from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion, FlatFillQuestion, link_query
from knowledge.errors import UnknownIds
from knowledge.faq import FaqRow, faq_entries
from knowledge.fill.answer import FullFillAnswer
from knowledge.fill.compute import compute_fill_answer
from knowledge.fill.curves import fill_curves
from knowledge.shop.shop import Shop

router = APIRouter(include_in_schema=False)
LARGEST_STYLESHEET = 256_000
NO_SLIP_NUMBER = ProblemError(
    location="query",
    pointer="/number",
    code="no_slip_number",
    detail="This is no number of a slip: a sign is missing or wrong. Compare it with the paper.",
)


class Asked(NamedTuple):
    """The question of an address and its answer in full, or what is wrong with it."""

    question: FillQuestion | None
    answer: FullFillAnswer | None
    mistakes: tuple[ProblemError, ...] = ()


@router.get("/")
def counter(request: Request, base: Base, now: ShopNow) -> Response:
    """The counter: a question on one side, its answer on the other; the address holds the question."""
    given = request.query_params.multi_items()
    values = cleaned(given)
    if dict(given) != values and not repeated(given):
        return RedirectResponse(address("./", values))
    found = _asked(given, values, base, now.shop)
    form = counter_form(values, base, now.shop)
    context: dict[str, Any] = {
        "values": values,
        "mistakes": found.mistakes,
        "form": form,
        "legends": legends(form),
        "shop": now,
    }
    if found.answer is None or found.question is None:
        return _page("counter.html", HTTPStatus.UNPROCESSABLE_ENTITY, **context, view=None)
    curves = fill_curves(found.question, base, now.shop)
    return _page(
        "counter.html",
        **context,
        view=fill_view(found.answer, found.answer.question.from_box, base),
        slip=stamped("slip", values, found.answer, date.today()),
        query=address("", values),
        chart=bands_chart(curves),
        curves=curves,
        shift=shift_view(found.answer.question, base),
    )


@router.get("/slip")
def slip_page(request: Request, base: Base, now: ShopNow) -> Response:
    """What is handed over the counter, on one page of paper."""
    given = request.query_params.multi_items()
    values = cleaned(given)
    if (number := values.pop("number", None)) is not None:
        return _by_number(number)
    stamps = {name: values.pop(name) for name in STAMPS if name in values}
    found = _asked(given, values, base, now.shop)
    if found.answer is None:
        return _refused_slip(found.mistakes, legends(counter_form(values, base, now.shop)))
    form = counter_form(understood(found.answer.question), base, now.shop)
    view = fill_view(found.answer, found.answer.question.from_box, base)
    here = str(request.url.replace(query=None, fragment=None))
    written = slip(values, found.answer, view, form, stamps, here, date.today(), base)
    return _page("slip.html", view=view, slip=written, mistakes=(), counter=address("./", values))


@router.get("/faq")
async def faq_page(request: Request, base: Base) -> Response:
    """Questions customers ask; the shop's own pages may show it in a frame."""
    entries = [
        (entry, f"./?{link_query(entry.counter.question())}" if entry.counter else "./") for entry in faq_entries(base)
    ]
    response = _page("faq.html", entries=entries, base=base)
    response.headers["Content-Security-Policy"] = content_policy("'self'", *request.app.state.origins)
    return response


@router.get("/faq/{id}")
async def faq_anchor(id: str, base: Base) -> Response:
    """One of these questions, where it stands on the page."""
    if id not in base.by_id(FaqRow):
        raise unknown_entry(id, base.by_id(FaqRow))
    return RedirectResponse(f"../faq#{id}")


@router.get("/shop.css")
async def shop_stylesheet(request: Request) -> Response:
    """The shop's own colours, from its folder; without such a file an empty stylesheet."""
    folder: Path | None = request.app.state.shop_folder
    file = folder / "shop.css" if folder else None
    sheet = b""
    if file and file.is_file():
        with file.open("rb") as opened:
            sheet = opened.read(LARGEST_STYLESHEET)
    return Response(sheet, media_type="text/css")


@router.get("/fillwright.css")
async def stylesheet() -> Response:
    """How the pages look."""
    return page("fillwright.css", "text/css")


@router.get("/counter.js")
async def script() -> Response:
    """Answers while the form is filled in, units by choice, keys."""
    return page("counter.js", "text/javascript")


def _page(template: str, status: int = HTTPStatus.OK, **context: Any) -> Response:
    return Response(rendered(template, **context), status, media_type="text/html")


def _asked(given: Iterable[tuple[str, str]], values: Mapping[str, str], base: KnowledgeBase, shop: Shop) -> Asked:
    """The answer to the flat fields of an address, where nothing is given twice."""
    if twice := repeated(given):
        errors = ({"type": "repeated_parameter", "loc": (name,)} for name in twice[:MOST_ERRORS])
        return Asked(None, None, tuple(mistakes(errors, FlatFillQuestion)))
    try:
        question = FlatFillQuestion.model_validate(values).question()
        return Asked(question, compute_fill_answer(question, base, shop, detail="full"))
    except ValidationError as error:
        errors = error.errors(include_url=False, include_input=False)[:MOST_ERRORS]
        return Asked(None, None, tuple(mistakes(errors, FlatFillQuestion)))
    except UnknownIds as error:
        return Asked(None, None, tuple(unknown_id(item, at=f"/{field_of(item.pointer)}") for item in error.items))


def _by_number(number: str) -> Response:
    """To the slip whose number somebody typed from paper."""
    try:
        values, id, day = read_number(number)
    except NoSlipNumber:
        return _refused_slip((NO_SLIP_NUMBER,), {"number": "Slip number"})
    return RedirectResponse(address("slip", cleaned(values.items()), id=id, given=f"{day}"))


def _refused_slip(found: tuple[ProblemError, ...], names: Mapping[str, str]) -> Response:
    return _page("slip.html", HTTPStatus.UNPROCESSABLE_ENTITY, view=None, mistakes=found, legends=names)
