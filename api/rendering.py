"""The pages of `api/pages/templates`, rendered with every text escaped and nothing undefined let through."""

import re
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from fastapi import Response
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from api.band_drawing import about
from api.terminal_layout import MARK_MEANS, number, place_in_words
from knowledge.text import plain

PAGES = Path(__file__).resolve().parent / "pages"
MINUS = re.compile(r"(?<![\w.-])-(?=\d)")
GRADE = re.compile(r"\b\d+W-\d+\b")
BEFORE_UNIT = re.compile(r"(?<=\d) (?=°C|mm²/s|mPa|ms\b|%)")


def said(text: str) -> str:
    """Text as it is set: a true minus before a number, and no line break before a unit."""
    return BEFORE_UNIT.sub("\N{NO-BREAK SPACE}", MINUS.sub("\N{MINUS SIGN}", text))


def told(text: str) -> Markup:
    """Text as it is set in a paragraph, where a grade such as 75W-90 stays on one line."""
    return Markup(GRADE.sub(r'<span class="grade">\g<0></span>', str(escape(said(text)))))


def celsius(value: float | str) -> str:
    """A temperature as it is set; the script of the pages reads it there when °F is chosen."""
    return said(f"{plain(float(value))} °C")


def day(value: date) -> str:
    """A date that reads the same on both sides of an ocean."""
    return f"{value.day} {value:%B} {value.year}"


def _environment() -> Environment:
    pages = Environment(
        loader=FileSystemLoader(PAGES / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    pages.filters.update(
        said=said, told=told, celsius=celsius, day=day, number=number, about=about, place_in_words=place_in_words
    )
    pages.globals.update(mark_means=MARK_MEANS)
    return pages


ENVIRONMENT = _environment()


def rendered(template: str, context: Mapping[str, Any], status: int = 200) -> Response:
    """One page."""
    return Response(ENVIRONMENT.get_template(template).render(context), status, media_type="text/html")
