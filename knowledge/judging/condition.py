"""What has to be so, of what is still unknown, for something to hold, in words."""

from collections.abc import Collection, Mapping, Sequence
from typing import Any

import numpy as np

from knowledge.base import KnowledgeBase
from knowledge.box.axes import OpenField
from knowledge.box.cases import Cases
from knowledge.judging.columns import Flags
from knowledge.loading.facing_rows import NO_RINGS
from knowledge.text import Said, listed, value_text

ANY_RINGS = "synchronizer rings of any kind"
OF_COMBINATIONS = Said("Only for some combinations of what is unknown.", "only-for-some-combinations")


def value_words(field: str, value: Any, base: KnowledgeBase) -> str:
    """A tried value as people say it."""
    text = value_text(value)
    words = base.value_words.get((field, text))
    return words or (f"{text} °C" if field.endswith("_c") else text)


def only_if(
    holds: Mapping[int, Flags], fields: Collection[str], cases: Cases, bounds: Mapping[str, str] | None = None
) -> Said:
    """The values of the open fields with which something can hold that does not always hold.

    `holds` has, for the axes along which it changes, whether it can hold with each alternative; `fields` are those
    it follows from; `bounds` tell the values of a field where more is known of them than those that are tried.
    """
    conditions = []
    for axis, field in cases.open:
        if field.field not in fields or axis not in holds:
            continue
        can_hold = np.bincount(field.value_of, weights=holds[axis], minlength=len(field.values)) > 0
        if not can_hold.all():
            values = [value for value, held in zip(field.values, can_hold.tolist(), strict=True) if held]
            bound = (bounds or {}).get(field.name)
            words = bound or values_in_words(field, values, cases.base)
            text = cases.base.unknowns[field.name].phrase.format(values=words)
            told: dict[str, Any] = {"bound": bound} if bound else {"values": tuple(map(value_text, values))}
            conditions.append(Said(text, "condition", field=field.name, **told))
    if not conditions:
        return OF_COMBINATIONS
    return Said(f"Only if {listed(conditions, 'and')}.", "only-if", tuple(conditions))


def values_in_words(field: OpenField, values: Sequence[Any], base: KnowledgeBase) -> str:
    """Some of the values tried for a field as people say them.

    Many temperatures are told by the end that bounds them, so that none between seems safe.
    """
    if field.name == "rings" and len(values) == len(field.values) - 1 and NO_RINGS not in values:
        return ANY_RINGS
    if field.name.endswith("_c"):
        coldest, hottest = (value_words(field.name, value, base) for value in (values[0], values[-1]))
        reaches_cold, reaches_hot = values[0] == field.values[0], values[-1] == field.values[-1]
        if reaches_cold and not reaches_hot:
            return f"{hottest} or colder"
        if reaches_hot and not reaches_cold:
            return f"{coldest} or hotter"
        if not reaches_cold and len(values) > 1:
            return f"{coldest} to {hottest}"
    return listed((value_words(field.name, value, base) for value in values), "or")
