"""Pages for people: the counter, the slip and the public questions, from the same answers as the API."""

from datetime import date
from http import HTTPStatus
from pathlib import Path

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from api.asking_page import asked
from api.band_drawing import drawing
from api.counter_form import counter_form, legends
from api.fill_view import fill_view
from api.middleware import content_policy
from api.permalink import address, cleaned, flat_values, repeated
from api.problems import unknown_entry
from api.rendering import rendered
from api.routes.dependencies import Base, ShopNow
from api.routes.documentation import page
from api.shift_view import shift_view
from api.slip_code import NoSlipNumber, read_number
from api.slip_view import STAMPS, slip, stamped, understood
from api.wording import Mistake
from knowledge.box.question import FlatFillQuestion
from knowledge.faq import FaqRow, faq_entries
from knowledge.fill.curves import fill_curves

router = APIRouter(include_in_schema=False)
LARGEST_STYLESHEET = 256_000
NO_SLIP_NUMBER = Mistake(
    "/number", "no_slip_number", "This is no number of a slip: a sign is missing or wrong. Compare it with the paper."
)


@router.get("/")
def counter(request: Request, base: Base, now: ShopNow) -> Response:
    """The counter: a question on one side, its answer on the other; the address holds the question."""
    given = request.query_params.multi_items()
    values = cleaned(given)
    if dict(given) != values and not repeated(given):
        return RedirectResponse(address("./", values))
    found = asked(given, values, base, now.shop)
    form = counter_form(values, base, now.shop)
    shown = {"values": values, "mistakes": found.mistakes, "form": form, "legends": legends(form), "shop": now}
    if found.answer is None:
        return rendered("counter.html", {**shown, "view": None}, found.status)
    view = fill_view(found.answer, values, base)
    links = {
        "slip": stamped("slip", values, found.answer, date.today()),
        "api": address("v1/fill", values),
        "curves": address("v1/fill/curves", values),
    }
    picture = drawing(fill_curves(FlatFillQuestion.model_validate(found.values).question(), base, now.shop))
    shift = shift_view(found.answer.question, base)
    return rendered("counter.html", {**shown, "view": view, "links": links, "drawing": picture, "shift": shift})


@router.get("/slip")
def slip_page(request: Request, base: Base, now: ShopNow) -> Response:
    """What is handed over the counter, on one page of paper."""
    given = request.query_params.multi_items()
    values = cleaned(given)
    if (number := values.pop("number", None)) is not None:
        return _by_number(number)
    stamps = {name: values.pop(name) for name in STAMPS if name in values}
    found = asked(given, values, base, now.shop)
    if found.answer is None:
        told = {"mistakes": found.mistakes, "legends": legends(counter_form(values, base, now.shop)), "view": None}
        return rendered("slip.html", told, found.status)
    form = counter_form(understood(found.answer.question), base, now.shop)
    view = fill_view(found.answer, values, base)
    here = str(request.url.replace(query=None, fragment=None))
    context = {"view": view, "slip": slip(found, view, form, stamps, here, date.today()), "mistakes": ()}
    return rendered("slip.html", {**context, "counter": address("./", values)})


def _by_number(number: str) -> Response:
    """To the slip whose number somebody typed from paper."""
    try:
        values, id, day = read_number(number)
    except NoSlipNumber:
        told = {"mistakes": (NO_SLIP_NUMBER,), "legends": {"number": "Slip number"}, "view": None}
        return rendered("slip.html", told, HTTPStatus.UNPROCESSABLE_ENTITY)
    return RedirectResponse(address("slip", cleaned(values.items()), id=id, given=f"{day}"))


@router.get("/faq")
async def faq_page(request: Request, base: Base) -> Response:
    """Questions customers ask; the shop's own pages may show it in a frame."""
    entries = [(entry, address("./", flat_values(entry.counter))) for entry in faq_entries(base)]
    response = rendered("faq.html", {"entries": entries, "base": base})
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
