"""A question in a file, answered in the terminal; no web framework is imported on the way."""

import argparse
import os
import sys
from collections.abc import Callable, Collection, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from pydantic import BaseModel, ValidationError

from api.http.strict_json import MalformedJson, parse
from api.rendering import rendered_lines
from api.shop import REGION_VARIABLE, shop_folder
from api.views.fill import fill_view
from api.wording import ProblemError, mistakes, more_than_it_holds, unknown_id
from knowledge.assemble import read_knowledge, read_shop
from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.drain.compute import compute_drain_answer
from knowledge.drain.question import DrainQuestion
from knowledge.errors import MoreThanItHolds, UnknownIds
from knowledge.fill.compute import compute_fill_answer
from knowledge.ids import with_ids
from knowledge.jug.compute import compute_jug_answer
from knowledge.jug.question import JugQuestion
from knowledge.rings.shift_question import ShiftQuestion
from knowledge.shift.compute import compute_shift_answer
from knowledge.shop.shop import Shop, filled_in
from knowledge.symptom.compute import compute_symptom_answer
from knowledge.symptom.question import SymptomQuestion
from knowledge.text import nearest


class Asking(NamedTuple):
    """One kind of question: its model, and its answer."""

    model: type[BaseModel]
    answer: Callable[..., BaseModel]
    reads_shop: bool = True


ASKINGS = {
    "fill": Asking(FillQuestion, compute_fill_answer),
    "jug": Asking(JugQuestion, compute_jug_answer),
    "drain": Asking(DrainQuestion, compute_drain_answer),
    "symptom": Asking(SymptomQuestion, compute_symptom_answer),
    "shift": Asking(ShiftQuestion, compute_shift_answer, reads_shop=False),
}
WRAPPING = {"title", "about", "ask", "question"}
KINDS = f"{', '.join([*ASKINGS][:-1])} or {[*ASKINGS][-1]}"


class CannotAsk(Exception):
    """The file holds no question that can be answered; its lines say why."""


def ask(flags: Sequence[str]) -> int:
    """Print the answer to the question in a file; 2 when there is no usable question in it.

    Errors: FaultyShop, when the tables of the shop folder cannot be used.
    """
    parser = argparse.ArgumentParser(prog="python -m api ask", description="Answer one question in the terminal.")
    parser.add_argument("file", help="JSON file with the question; - reads what is piped in")
    parser.add_argument("--more", action="store_true", help="print all of the answer, not the first lines of it")
    parser.add_argument("--json", action="store_true", help="print the answer as JSON, as the API would send it")
    parser.add_argument("--shop", type=Path, help="folder with the shop's own boxes and jugs; default demo_data")
    parser.add_argument("--region", default=os.environ.get(REGION_VARIABLE) or None, help="where the shop is")
    given = parser.parse_args(list(flags))
    try:
        folder = shop_folder(given.shop)
    except ValueError as error:
        parser.error(str(error))
    base = read_knowledge()
    shop = read_shop(folder, base, given.region)
    try:
        print(answered(_read(given.file), base, shop, as_json=given.json, more=given.more))
    except CannotAsk as error:
        print(f"{given.file}: {error}", file=sys.stderr)
        return 2
    return 0


def answered(content: bytes, base: KnowledgeBase, shop: Shop, *, as_json: bool = False, more: bool = False) -> str:
    """The answer to the question in a file, as text for a terminal or as JSON; with `more` the text is complete.

    Errors: CannotAsk.
    """
    kind, value = _question(content)
    answer = _answer(ASKINGS[kind], value, base, shop)
    if as_json:
        return str(answer.model_dump_json(indent=2))
    if kind != "fill":
        return rendered_lines(f"{kind}.txt", more=more, answer=answer)
    _, from_box = filled_in(with_ids(FillQuestion.model_validate(value), base, shop.ids), shop)
    return rendered_lines("fill.txt", more=more, view=fill_view(answer, from_box, base))


def _read(name: str) -> bytes:
    try:
        return sys.stdin.buffer.read() if name == "-" else Path(name).read_bytes()
    except OSError as error:
        raise CannotAsk(f"cannot be read: {error.strerror}") from None


def _question(content: bytes) -> tuple[str, Any]:
    """Which kind of question a file holds, and the question: bare, or wrapped beside `ask` and a title."""
    try:
        value = parse(content)
    except MalformedJson as error:
        raise CannotAsk(error.reason) from None
    if not isinstance(value, dict):
        raise CannotAsk("Must be a JSON object.")
    # Some questions have a field `question` of their own: the box they are about.
    is_wrapped = "question" in value and WRAPPING.issuperset(value)
    question = value["question"] if is_wrapped else {key: part for key, part in value.items() if key != "ask"}
    kind = value["ask"] if "ask" in value else _kind_by_shape(question)
    if not isinstance(kind, str) or kind not in ASKINGS:
        raise CannotAsk(f"/ask: Must be one of: {KINDS}.")
    return kind, question


def _kind_by_shape(question: Any) -> str:
    """The kind of question that has the most of these fields; a field nearly spelt counts where others are even.

    Errors: CannotAsk, when several kinds have as many, or no kind has any.
    """
    if not isinstance(question, dict) or not question:
        return "fill"
    fits = {kind: _fit(question, asking.model.model_fields) for kind, asking in ASKINGS.items()}
    best = max(fits.values())
    likely = [kind for kind, fit in fits.items() if fit == best]
    if len(likely) == 1:
        return likely[0]
    fitting = f"{' and '.join(likely)} alike" if any(best) else "no kind of question"
    raise CannotAsk(f'The fields fit {fitting}. Say which it is with "ask": {KINDS}.')


def _fit(names: Collection[str], fields: Collection[str]) -> tuple[int, int]:
    known = sum(name in fields for name in names)
    return known, sum(nearest(name, fields) is not None for name in names)


def _answer(kind: Asking, value: Any, base: KnowledgeBase, shop: Shop) -> Any:
    try:
        return kind.answer(kind.model.model_validate(value), base, *([shop] if kind.reads_shop else []))
    except ValidationError as error:
        found = tuple(mistakes(error.errors(include_url=False), kind.model))
    except UnknownIds as error:
        found = tuple(map(unknown_id, error.items))
    except MoreThanItHolds as error:
        found = (more_than_it_holds(error),)
    raise CannotAsk("\n".join(["the question cannot be used.", *map(_line, found)]))


def _line(mistake: ProblemError) -> str:
    known = f" Known: {', '.join(mistake.known)}." if mistake.known and "one of" not in mistake.detail else ""
    return f"  {mistake.pointer or 'the question'}: {mistake.detail}{known}"
