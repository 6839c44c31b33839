"""What must hold between the tables of a shop folder, and between them and the knowledge."""

from collections.abc import Iterator
from typing import Any

from pydantic import ValidationError

from knowledge.base import KnowledgeBase
from knowledge.box.question import MOST_RING_SETS
from knowledge.errors import Fault
from knowledge.loading.cells import Placed, Tables
from knowledge.shop.rows import BoxRow, RingSetRow, ShelfRow
from knowledge.shop.shop import shelf_jug

MOST_BOXES = 2000
# Otherwise a table of rings that was emptied by mistake would be a shop of boxes that nobody knows.
NO_RING_ROW = (
    "has_rings: says yes, but the table of rings has no row of this box; give it one for each set, with blanks for "
    "what is not known, or leave this cell blank if nobody knows whether it has rings"
)
# Each jug is judged in every world of a question that asks for the shelf.
MOST_JUGS = 100


def shop_faults(tables: Tables, base: KnowledgeBase) -> Iterator[Fault]:
    """Every fault that no single cell can show by itself."""
    yield from _too_many(tables[BoxRow], MOST_BOXES)
    yield from _too_many(tables[ShelfRow], MOST_JUGS)
    yield from _impossible_rings(tables, base)
    for placed in tables[ShelfRow]:
        yield from _impossible_jug(placed)


def _too_many(items: tuple[Placed[Any], ...], most: int) -> Iterator[Fault]:
    if len(items) > most:
        yield items[most].fault("", f"this table may hold {most} rows, and this is one more")


def _impossible_rings(tables: Tables, base: KnowledgeBase) -> Iterator[Fault]:
    boxes = {placed.row.id: placed for placed in tables[BoxRow]}
    sets: dict[str, int] = {}
    for placed in tables[RingSetRow]:
        row = placed.row
        if row.box not in boxes:
            continue
        box = boxes[row.box].row
        sets[row.box] = sets.get(row.box, 0) + 1
        if sets[row.box] == MOST_RING_SETS + 1:
            yield placed.fault("box", f"box: {row.box!r} has more than {MOST_RING_SETS} ring sets")
        if box.has_rings is False:
            yield placed.fault("box", f"box: the table of boxes says that {row.box!r} has no rings")
        if box.yellow_metal is False and is_of_yellow_metal(row, base):
            message = f"yellow_metal: says no, but line {placed.line} of {placed.file} gives this box a ring of it"
            yield boxes[row.box].fault("yellow_metal", message)
    for id, named in boxes.items():
        if named.row.has_rings and id not in sets:
            yield named.fault("has_rings", NO_RING_ROW)


def is_of_yellow_metal(row: RingSetRow, base: KnowledgeBase) -> bool:
    """Whether the rings of a set are surely of a copper alloy, or faced with one."""
    parts = (base.facings.get(row.facing or ""), base.bodies.get(row.body or ""))
    return any(part is not None and part.copper_alloy for part in parts)


def _impossible_jug(placed: Placed[ShelfRow]) -> Iterator[Fault]:
    row = placed.row
    try:
        shelf_jug(row)
    except ValidationError as error:
        for item in error.errors(include_url=False):
            yield placed.fault("_".join(map(str, item["loc"])), item["msg"])
    for field in ("copper_strip_temperature_c", "copper_strip_hours"):
        if getattr(row, field) is not None and row.copper_strip_rating is None:
            yield placed.fault(field, f"{field}: means nothing without copper_strip_rating")
    if (row.brookfield_temperature_c is None) != (row.brookfield_mpa_s is None):
        yield placed.fault("brookfield_mpa_s", "brookfield_temperature_c and brookfield_mpa_s need each other")
