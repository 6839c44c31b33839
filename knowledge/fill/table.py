"""A whole catalogue: one row of cells a box, answered in the cells of another row."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from functools import lru_cache
from typing import Annotated, TypeVar

from pydantic import ValidationError

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.errors import FillwrightError, UnknownIds
from knowledge.fill.answer import FillAnswer
from knowledge.fill.compute import compute_fill_answer
from knowledge.ids import with_ids
from knowledge.loading.cells import numbers_of, sentence
from knowledge.loading.schema import Row
from knowledge.parts.ranges import COLDEST_START, HOT_SUMP
from knowledge.parts.request_model import Number, Words
from knowledge.shop.checks import is_of_yellow_metal
from knowledge.shop.rows import BoxRow, RingSetRow, ShopId
from knowledge.shop.shop import BOX_FIELDS, NO_SHOP, Shop, box_of
from knowledge.text import nearest

MOST_RING_SETS = 4
# Catalogues list the same box under many numbers; each entry has about a kilobyte.
ROWS_KEPT = 4096
BOX = "box"


class TableRow(BoxRow):
    """A box as in the shop's table of boxes, with what a question adds to it; what it is called stands apart."""

    id: ShopId = BOX
    name: Words = BOX
    coldest_start_c: Annotated[Number, COLDEST_START] | None = None
    sump_hot_c: Annotated[Number, HOT_SUMP] | None = None


NAMES = ("id", "name")
BOX_COLUMNS = tuple(name for name in TableRow.model_fields if name not in NAMES)
RING_COLUMNS = tuple(name for name in RingSetRow.model_fields if name != BOX)
RING_SETS = tuple(f"_{place}" for place in range(1, MOST_RING_SETS + 1))
COLUMNS = (*BOX_COLUMNS, *(f"{name}{suffix}" for suffix in RING_SETS for name in RING_COLUMNS))
NUMBERS = frozenset(
    (*numbers_of(TableRow), *(f"{name}{suffix}" for suffix in RING_SETS for name in numbers_of(RingSetRow)))
)
RESULTS = ("leader", "outcome", "window", "say", "cautions", "problem")

AnyRow = TypeVar("AnyRow", bound=Row)


class FaultyRow(FillwrightError):
    """The cells of a row cannot be asked; every column that is wrong is named, with what is allowed in it."""


def header_faults(names: Sequence[str], keys: Collection[str]) -> Iterator[str]:
    """What is wrong with the names of the columns; those of `keys` are copied, and need not be known."""
    for name in dict.fromkeys(names):
        if names.count(name) > 1:
            yield f"column {name!r} stands twice"
        if name not in keys and name not in COLUMNS:
            near = nearest(name, COLUMNS)
            yield f"column {name!r} is not known here" + (f"; did you mean {near!r}?" if near else "")
    yield from (f"column {key!r} is to be copied and is not there" for key in keys if key not in names)
    if not set(names) & set(COLUMNS):
        yield f"no column tells of a box; there are {', '.join(COLUMNS)}"


def fill_row(cells: Mapping[str, str], base: KnowledgeBase, shop: Shop = NO_SHOP) -> dict[str, str]:
    """What is answered to the box of a row, cell by cell; a row that cannot be asked has a `problem` alone.

    The cells are of `COLUMNS`, without the blank ones; of the shop its region counts.
    """
    return dict(zip(RESULTS, _filled(tuple(sorted(cells.items())), base, shop), strict=True))


def problem_row(problem: str) -> dict[str, str]:
    """The answer to a row that cannot be read."""
    return {**dict.fromkeys(RESULTS, ""), "problem": problem}


@lru_cache(maxsize=ROWS_KEPT)
def _filled(cells: tuple[tuple[str, str], ...], base: KnowledgeBase, shop: Shop) -> tuple[str, ...]:
    try:
        answer = compute_fill_answer(question_of(dict(cells), base), base, shop)
    except FaultyRow as error:
        return tuple(problem_row(str(error)).values())
    leader = answer.leader.lubricant if answer.leader else None
    return (
        (leader.id or leader.name) if leader else "",
        answer.outcome,
        " | ".join(_window(answer)),
        str(answer.say),  # rows travel between processes, as bare text
        " | ".join(caution.text for caution in answer.cautions),
        "",
    )


def _window(answer: FillAnswer) -> Iterator[str]:
    if answer.window:
        yield ", ".join(answer.window.on_the_label)
        yield from answer.window.on_the_data_sheet
        if answer.window.never_on_the_label:
            yield f"never: {', '.join(answer.window.never_on_the_label)}"


def question_of(cells: Mapping[str, str], base: KnowledgeBase) -> FillQuestion:
    """The question that a row asks, by the same path as a box of the shop.

    Errors: FaultyRow.
    """
    problems: list[str] = []
    row = _read(TableRow, {name: cells[name] for name in BOX_COLUMNS if name in cells}, "", base, problems)
    rings = []
    for suffix in RING_SETS:
        of_set = {name: cells[f"{name}{suffix}"] for name in RING_COLUMNS if f"{name}{suffix}" in cells}
        if of_set and (ring := _read(RingSetRow, {BOX: BOX, **of_set}, suffix, base, problems)):
            rings.append((suffix, ring))
    if row:
        problems += _contradictions(row, rings, base)
    if row is None or problems:
        raise FaultyRow("; ".join(problems))
    # A box that has rings of which nothing is known has one set that says nothing.
    sets = [ring for _, ring in rings] or ([RingSetRow(box=BOX)] if row.has_rings else [])
    box = box_of(row, sets)
    return FillQuestion(
        **{name: getattr(box, name) for name in BOX_FIELDS},
        coldest_start_c=row.coldest_start_c,
        sump_hot_c=row.sump_hot_c,
    )


def _read(
    model: type[AnyRow], cells: Mapping[str, str], suffix: str, base: KnowledgeBase, problems: list[str]
) -> AnyRow | None:
    """The cells held to their model, with ids in place of words; None where a problem is added."""
    try:
        return with_ids(model.model_validate_strings(cells), base, {"boxes": (BOX,)})
    except ValidationError as error:
        found = error.errors(include_url=False)
        problems += (f"{item['loc'][0]}{suffix}: {sentence(item)}" for item in found)
    except UnknownIds as error:
        problems += (f"{item.pointer.split('/')[1]}{suffix}: {item.told}" for item in error.items)
    return None


def _contradictions(row: TableRow, rings: Sequence[tuple[str, RingSetRow]], base: KnowledgeBase) -> Iterator[str]:
    if row.has_rings is False and rings:
        yield f"has_rings: says no, but the columns that end in {rings[0][0]} tell of rings"
    if row.yellow_metal is False:
        of_it = (suffix for suffix, ring in rings if is_of_yellow_metal(ring, base))
        yield from (f"yellow_metal: says no, but facing{suffix} or body{suffix} is of it" for suffix in of_it)
