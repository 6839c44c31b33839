"""Whether a question speaks in ids that the knowledge has."""

import re
from collections.abc import Collection, Iterable, Iterator

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.drain.question import DrainFluid, DrainQuestion
from knowledge.errors import UnknownId, UnknownIds
from knowledge.jug.question import JugQuestion
from knowledge.parts.jug import Jug
from knowledge.parts.request_model import says_nothing
from knowledge.rings.shift_question import ShiftQuestion
from knowledge.spelling import nearest
from knowledge.symptom.question import SymptomQuestion
from knowledge.symptom.rows import SymptomRow

NamedIds = Iterator[tuple[str, str | None, Iterable[str]]]

FACING_OF_A_RING = re.compile(r"/rings/\d+/facing$")

NO_RINGS = 'A box without synchronizer rings is "rings": [], and facing=none in a link.'


def check_ids(question: FillQuestion, base: KnowledgeBase, boxes: Collection[str] = ()) -> None:
    """Raise UnknownIds with every id of the question that neither the knowledge nor the shop's boxes have."""
    _refuse_unknown(_ids(question, base, boxes))


def check_jug_ids(asked: JugQuestion, base: KnowledgeBase, boxes: Collection[str] = ()) -> None:
    """Raise UnknownIds with every id of a jug, and of the box it is asked for, that nothing known has."""
    _refuse_unknown((*_jug_ids("", asked, base), *_box_ids(asked.question, base, boxes)))


def check_drain_ids(asked: DrainQuestion, base: KnowledgeBase, boxes: Collection[str] = ()) -> None:
    """Raise UnknownIds with every id of the fluids, and of the box they are drained from, that nothing known has."""
    _refuse_unknown(
        (
            *(item for name in ("old", "new") for item in _fluid_ids(f"/{name}", getattr(asked, name), base)),
            *_box_ids(asked.question, base, boxes),
        )
    )


def check_symptom_ids(asked: SymptomQuestion, base: KnowledgeBase, boxes: Collection[str] = ()) -> None:
    """Raise UnknownIds with every complaint, and every id of the box it is about, that nothing known has."""
    complaints = ((f"/symptoms/{index}", id, base.by_id(SymptomRow)) for index, id in enumerate(asked.symptoms))
    _refuse_unknown((*complaints, *_box_ids(asked.question, base, boxes)))


def check_shift_ids(asked: ShiftQuestion, base: KnowledgeBase) -> None:
    """Raise UnknownIds when the facing or the fluid of a shift is none that the knowledge has."""
    _refuse_unknown((("/facing", asked.facing, base.facings), ("/fluid", asked.fluid, base.lubricant_rows)))


def _refuse_unknown(asked: Iterable[tuple[str, str | None, Iterable[str]]]) -> None:
    items = tuple(
        _unknown(pointer, value, tuple(known))
        for pointer, value, known in asked
        if value is not None and value not in known
    )
    if items:
        raise UnknownIds(items)


def _unknown(pointer: str, value: str, known: tuple[str, ...]) -> UnknownId:
    if value.lower() == "none" and FACING_OF_A_RING.search(pointer):
        return UnknownId(pointer, value, known, None, NO_RINGS)
    if says_nothing(value):
        return UnknownId(pointer, value, known, None, "Leave it out when it is not known.")
    return UnknownId(pointer, value, known, nearest(value, known))


def _box_ids(question: FillQuestion | None, base: KnowledgeBase, boxes: Collection[str]) -> NamedIds:
    """The ids of a fill question that stands inside of another question."""
    for pointer, value, known in _ids(question, base, boxes) if question else ():
        yield f"/question{pointer}", value, known


def _ids(question: FillQuestion, base: KnowledgeBase, boxes: Collection[str]) -> NamedIds:
    for index, ring in enumerate(question.rings or ()):
        yield f"/rings/{index}/facing", ring.facing, base.facings
        yield f"/rings/{index}/body", ring.body, base.bodies
    yield "/duty", question.duty, base.duties
    yield "/box_ref", question.box_ref, boxes
    if question.service_data:
        yield "/service_data/family", question.service_data.family, base.families
    if question.in_it_now:
        yield from _jug_ids("/in_it_now", question.in_it_now, base)
    for index, jug in enumerate(question.on_hand):
        yield from _jug_ids(f"/on_hand/{index}", jug, base)


def _fluid_ids(pointer: str, fluid: DrainFluid | None, base: KnowledgeBase) -> NamedIds:
    if fluid:
        yield f"{pointer}/family", fluid.family, base.families
        yield from _jug_ids(pointer, fluid, base)


def _jug_ids(pointer: str, jug: Jug, base: KnowledgeBase) -> NamedIds:
    if jug.label:
        yield f"{pointer}/label/family", jug.label.family, base.families
    if jug.copper_strip:
        yield f"{pointer}/copper_strip/rating", jug.copper_strip.rating, base.copper_strip
