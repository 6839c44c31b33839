"""How often the trade meets each value of what a caller left out, given what is stated of the box."""

from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any

import numpy as np

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.loading.custom_rows import BoxKindRow, HowOftenRow
from knowledge.loading.facing_rows import NO_RINGS
from knowledge.text import value_text

# What a kind of box tells of, and the column that does.
BY_KIND: Mapping[str, str] = {
    "facing": "facing_percent",
    "final_drive": "final_drive_percent",
    "duty": "duty_percent",
}


def most_delicate(facings: Iterable[str], base: KnowledgeBase) -> str:
    """The facing that decides among those of a box; `none` without any."""
    return max(facings, key=lambda facing: base.facings[facing].delicacy, default=NO_RINGS)


def stated_of_kind(question: FillQuestion, base: KnowledgeBase) -> dict[str, str]:
    """What the question states of the fields that a kind of box tells of."""
    found = {name: value for name in ("final_drive", "duty") if (value := getattr(question, name)) is not None}
    if question.rings is not None:
        facings = [ring.facing for ring in question.rings if ring.facing]
        if facings or not question.rings:
            found["facing"] = most_delicate(facings, base)
    return found


def kinds_within(id: str | None, base: KnowledgeBase) -> tuple[BoxKindRow, ...]:
    """The kinds that hold shares: all, that of an id, or the eras of a layout."""
    rows = (row for row in base.rows(BoxKindRow) if row.callers_percent is not None)
    return tuple(row for row in rows if id is None or id in (row.id, row.layout))


def kinds_to_reply(id: str | None, base: KnowledgeBase) -> tuple[str, ...]:
    """What may be replied to the question for the kind of a box: the layouts, or of one that is known its eras."""
    return tuple(dict.fromkeys((row.layout if id is None else None) or row.id for row in kinds_within(id, base)))


def kind_shares(id: str | None, stated: Mapping[str, str], base: KnowledgeBase) -> dict[str, float]:
    """How likely each kind of box is, after Bayes, from what is stated; of equal weight where nothing agrees.

    Here and below, shares of drawn tables are arrays over the draws.
    """
    found = {}
    for row in kinds_within(id, base):
        share: Any = row.callers_percent
        for field, value in stated.items():
            share = share * getattr(row, BY_KIND[field]).get(value, 0.0)
        found[row.id] = share
    whole = sum(found.values())
    is_met = np.any(whole)
    return {id: share / whole if is_met else 1 / len(found) for id, share in found.items()}


def by_kind(field: str, shares: Mapping[str, float], base: KnowledgeBase) -> dict[str, float]:
    """How often each value of a field that a kind of box tells of is met, given how likely each kind is."""
    met: dict[str, float] = {}
    kinds = base.by_id(BoxKindRow)
    for id, share in shares.items():
        if isinstance(share, np.ndarray) or share:
            for value, percent in getattr(kinds[id], BY_KIND[field]).items():
                met[value] = met.get(value, 0.0) + share * percent
    return met


def how_often(field: str, value: Any, given: Mapping[str, Any], base: KnowledgeBase) -> float:
    """The share in which a value is met, given another field or by itself; 1 where the tables tell nothing of it."""
    known = _how_often(base)
    text = value_text(value)
    for other, other_value in (*given.items(), (None, None)):
        found = known.get((field, other, None if other is None else value_text(other_value)))
        if found is not None:
            return found.get(text, 0.0) / 100
    return 1.0


def how_often_beside_rings(yellow_metal: bool, facing: str, base: KnowledgeBase) -> float:
    """The share in which boxes whose rings are of no copper alloy have yellow metal, or have none.

    Rings of a copper alloy are among the boxes of a facing that have any, and are taken out of them.
    """
    given = {"facing": facing}
    bodies = () if facing == NO_RINGS else base.bodies.items()
    copper = sum(how_often("body", id, given, base) for id, row in bodies if row.copper_alloy)
    lacking = how_often("yellow_metal", False, given, base)
    lacking = lacking / (1 - copper * (copper < 1))
    return 1 - lacking if yellow_metal else lacking


@lru_cache(maxsize=4)
def _how_often(base: KnowledgeBase) -> Mapping[tuple[str, str | None, str | None], dict[str, float]]:
    found: dict[tuple[str, str | None, str | None], dict[str, float]] = {}
    for row in base.rows(HowOftenRow):
        found.setdefault((row.field, row.given_field, row.given_value), {})[row.value] = row.percent
    return found
