"""The words of a question made ids of the knowledge, or refused with what they may mean."""

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import Any, TypeVar, get_args

from pydantic import BaseModel

from knowledge.base import KnowledgeBase
from knowledge.errors import UnknownId, UnknownIds
from knowledge.fluids.grades import every_grade, printed
from knowledge.loading.facing_rows import NO_RINGS
from knowledge.parts.references import Reference, references, replaced
from knowledge.parts.request_model import Condition, FinalDrive, says_nothing
from knowledge.text import listed, nearest, squeezed

# Tables of the shop, whose ids the knowledge does not have.
OF_SHOP = ("boxes", "shelf")

# Fields of a few words have no table.
WORDS = {"final_drives": get_args(FinalDrive.__value__), "conditions": get_args(Condition.__value__)}

# Every set of rings is asked about as the first is.
RING_PLACE = re.compile(r"/\d+/")

Asked = TypeVar("Asked", bound=BaseModel)


def with_ids(question: Asked, base: KnowledgeBase, of_shop: Mapping[str, Collection[str]] | None = None) -> Asked:
    """A question with ids in place of other spellings and of the words that callers use.

    Raises UnknownIds with every word that neither the knowledge nor the tables of the shop have, that may mean two
    things, and every grade that cannot be read.
    """
    changes: dict[tuple[str | int, ...], Any] = {}
    items: list[UnknownId] = []
    for found in references(question):
        table = found.refers.table
        if table == "grades":
            if printed(found.value, base) is None:
                items.append(_unreadable(found, base))
            continue
        if table == "questions":
            known = tuple(row.pointer for row in base.unknowns.values())
            if RING_PLACE.sub("/0/", found.value) not in known:
                items.append(_unknown(found, known, base))
            continue
        known = WORDS.get(table) or tuple((of_shop or {}).get(table, ()) if table in OF_SHOP else base.ids(table))
        if found.value in known:
            continue
        if (in_small := found.value.lower()) in known:
            changes[found.path] = in_small
            continue
        ids, how = _meant(found, known, base)
        if how == "is" and ids[0] == NO_RINGS and NO_RINGS not in known and found.value.lower() != NO_RINGS:
            rings_at = found.path[:-2]
            if rings_at and _is_only_facing(_at(question, rings_at)):
                changes[tuple(rings_at)] = ()
                continue
        if how == "both":
            changes |= dict(_both(found, ids, question))
        elif how == "is" and ids[0] in (*known, *found.refers.also):
            changes[found.path] = ids[0]
        else:
            items.append(_ambiguous(found, ids) if how == "ask" else _unknown(found, known, base))
    if items:
        raise UnknownIds(tuple(items))
    return replaced(question, changes) if changes else question


def _meant(found: Reference, known: Sequence[str], base: KnowledgeBase) -> tuple[Sequence[str], str]:
    """The ids that a word may mean, and whether it is one, claims both, or one has to ask; none for no such word."""
    word = squeezed(found.value)
    for spelt in (word, word.removeprefix("api"), word.removeprefix("sae")):
        if same := [id for id in known if word and squeezed(id) == spelt]:
            return same, "is" if len(same) == 1 else "ask"
        if row := base.meanings.get((found.refers.table, spelt)):
            return row.ids.split(), row.how
    return (), ""


def _both(found: Reference, ids: Sequence[str], question: BaseModel) -> Iterator[tuple[tuple[str | int, ...], Any]]:
    """A claim of two categories: a label has both, elsewhere the second counts only in a box known to have no rings."""
    *owner_at, field = found.path
    owner = _at(question, owner_at)
    if field == "family" and "also" in type(owner).model_fields:
        yield found.path, ids[0]
        yield (*owner_at, "also"), tuple(dict.fromkeys((*ids[1:], *owner.also)))
    else:
        boxes = (_at(question, found.path[:depth]) for depth in range(len(found.path)))
        yield found.path, ids[any(getattr(box, "is_without_rings", False) for box in boxes)]


def _at(model: Any, path: Sequence[str | int]) -> Any:
    for step in path:
        model = model[step] if isinstance(step, int) else getattr(model, step)
    return model


def _is_only_facing(rings: Any) -> bool:
    """Whether the facing of one set of rings is all that is said of rings."""
    return isinstance(rings, tuple) and len(rings) == 1 and rings[0].model_fields_set <= {"facing", "gears"}


def _ambiguous(found: Reference, ids: Sequence[str]) -> UnknownId:
    choice = f"{listed(ids, 'or')}: ask which" if len(ids) > 1 else f"{ids[0]}, or it may not: ask"
    advice = f"It may be {choice}."
    return UnknownId(found.pointer, found.value, tuple(ids), None, advice, "ambiguous_word")


def _unreadable(found: Reference, base: KnowledgeBase) -> UnknownId:
    grades = {grade.lower(): grade for grade in every_grade(base)}
    near = grades.get(nearest(found.value, grades) or "")
    advice = "Give the grade alone, such as 75W-90; what else is printed belongs into a note."
    return UnknownId(found.pointer, found.value, tuple(grades.values()), near, advice, "unreadable_grade")


def _unknown(found: Reference, known: Sequence[str], base: KnowledgeBase) -> UnknownId:
    advice = found.refers.if_none if found.value.lower() == "none" else ""
    if says_nothing(found.value):
        advice = advice or "Leave it out when it is not known."
    words = {id: id for id in known}
    for (kind, _), row in base.meanings.items():
        if kind == found.refers.table and row.how == "is" and row.ids in known:
            words.setdefault(row.word.lower(), row.ids)
    near = None if advice else words.get(nearest(found.value, words) or "")
    return UnknownId(found.pointer, found.value, tuple(known), near, advice or None)
