"""The templates of `api/templates`, rendered for a page, a terminal or a drawing; nothing undefined is let through."""

import re
import textwrap
from datetime import date
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from markupsafe import Markup, escape

from api import figures
from api.permalink import address, field_of
from knowledge.text import percent, plain

TEMPLATES = Path(__file__).resolve().parent / "templates"
COLUMNS = 88
MOST_LINES = 25
NO_BREAK = "\N{NO-BREAK SPACE}"
MINUS = re.compile(r"(?<![\w.-])-(?=\d)")
GRADE = re.compile(r"\b(?:\d+W-\d+|GL-\d(?:/GL-\d)?|MT-\d)\b")
BEFORE_UNIT = re.compile(r"(?<=\d) (?=°C|mm²/s|mPa|ms\b|%|\d{3}\b)")
ITEM = re.compile(r" *(?:(?:[-+]|\d+\.) )?")
LABEL = 14
GOES_ON = re.compile(rf" {{{LABEL}}}(?! *(?:[-+]|\d+\.) )")


def typeset(text: str) -> str:
    """Text with a true minus before a number, and no line break before a unit."""
    return BEFORE_UNIT.sub(NO_BREAK, MINUS.sub("\N{MINUS SIGN}", text))


def paragraph(text: str) -> Markup:
    """Typeset text in which a grade such as 75W-90 stays on one line."""
    return Markup(GRADE.sub(r'<span class="grade">\g<0></span>', str(escape(typeset(text)))))


def celsius(value: float | str) -> str:
    """A temperature as it is typeset; the script of the pages reads it there when °F is chosen."""
    return typeset(f"{plain(float(value))} °C")


def day(value: date) -> str:
    """A date that reads the same on both sides of an ocean."""
    return f"{value.day} {value:%B} {value.year}"


def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=select_autoescape(("html", "svg")),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    environment.filters.update(
        typeset=typeset,
        paragraph=paragraph,
        celsius=celsius,
        day=day,
        column=column,
        percent=percent,
        plain=plain,
        field_of=field_of,
        address=address,
        **figures.FILTERS,
    )
    environment.globals.update(figures.WORDS)
    return environment


def rendered(template: str, **context: Any) -> str:
    """The text of a template."""
    return ENVIRONMENT.get_template(template).render(context)


def rendered_lines(template: str, *, more: bool = True, **context: Any) -> str:
    """The text of a template for a terminal, in lines of at most COLUMNS; without `more` at most MOST_LINES of them."""
    lines = (_wrapped(line) for line in rendered(template, more=more, **context).splitlines())
    *shown, foot = re.sub(r"\n{3,}", "\n\n", "\n".join(lines)).strip("\n").splitlines()
    below = ["", foot]
    if figures.MARK in "".join(shown):
        below.append(figures.MARK_MEANS)
    return "\n".join((shown if more else _cut(shown, MOST_LINES - len(below))) + below)


def _cut(lines: list[str], most: int) -> list[str]:
    """As many lines as may be shown, up to the end of an item."""
    while most < len(lines) and GOES_ON.match(lines[most]):
        most -= 1
    return "\n".join(lines[:most]).rstrip().splitlines()


def column(text: str, label: str) -> str:
    """The lines of a block beside its label; nothing where it has none. An item of a list goes on beneath its words."""
    lines = [line for line in text.splitlines() if line.strip()]
    labels = (label, *("" for _ in lines[1:]))
    return "".join(f"{_wrapped(line, f'{words:{LABEL}}')}\n" for words, line in zip(labels, lines, strict=False))


def _wrapped(line: str, before: str = "") -> str:
    item = ITEM.match(line)
    start = item[0] if item else ""
    words = BEFORE_UNIT.sub(NO_BREAK, line[len(start) :])
    start = before + start
    filled = textwrap.fill(
        words, COLUMNS, initial_indent=start, subsequent_indent=" " * len(start), break_on_hyphens=False
    )
    return filled.replace(NO_BREAK, " ")


ENVIRONMENT = _environment()
