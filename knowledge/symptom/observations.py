"""What was seen: a symptom question and its box turned into the `field=value` marks that evidence names."""

from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple, get_args

from knowledge.base import KnowledgeBase
from knowledge.parts.provenance import Finding
from knowledge.symptom.answer import RingGapVerdict
from knowledge.symptom.in_the_box import InTheBox
from knowledge.symptom.question import FluidState, Gears, GripTest, RingGap, SymptomQuestion, When
from knowledge.symptom.rows import SymptomRow
from knowledge.text import Said, listed, plain, value_text

VALUES: Mapping[str, tuple[str, ...]] = {
    "when": get_args(When.__value__),
    "gears": get_args(Gears.__value__),
    **dict.fromkeys(("engine_off_same", "double_clutch_cures", "after_fluid_change"), ("true", "false")),
    "fluid_state": get_args(FluidState.__value__),
    "ring_gap": ("past-limit", "within-limit"),
    "grip_test": get_args(GripTest.__value__),
    "rings": ("none", "lined", "unlined", "worn", "new", "multi-cone"),
    "in_it": ("as-service-data", "other-than-service-data", "axle-oil", "stated"),
}

# Fields of the question that are seen as they are stated.
STATED = ("symptoms", *(name for name in VALUES if name in SymptomQuestion.model_fields and name != "ring_gap"))

# Marks that can be seen only with the box apart.
ON_BENCH = ("grip_test=", "ring_gap=")

# Marks that bring up a suspect whatever the complaint is.
SEEN_DIRECTLY = (*ON_BENCH, "fluid_state=")
EFFECTS = ("supports", "cautions", "excludes")

NEEDED_OF_A_GAP = {
    "measured_mm": "the measured gap",
    "service_limit_mm": "the service limit",
    "worn_when": "whether a worn ring makes the gap smaller or larger",
}


class Observation(NamedTuple):
    """One thing seen: where in the question it stands, and the finding it is where a rule saw it."""

    mark: str
    about: tuple[str, ...]
    finding: Finding | None = None


def observations(question: SymptomQuestion, box: InTheBox, base: KnowledgeBase) -> Mapping[str, Observation]:
    """Everything seen, by its mark; what is seen in two ways is seen once."""
    seen: dict[str, Observation] = {}
    for observation in (*_stated(question), *_in_the_box(box)):
        seen.setdefault(observation.mark, observation)
    known = fields_of(seen) - {"symptoms", "fluid_state", "rings"}
    rows = base.by_id(SymptomRow)
    implied = {mark for id in question.symptoms for mark in rows[id].implies if mark.partition("=")[0] not in known}
    if any(mark.startswith("when=") for mark in implied - {"when=always"}):
        implied.discard("when=always")  # of two complaints the narrower one says when
    return {mark: Observation(mark, ("/symptoms",)) for mark in sorted(implied)} | seen


def _stated(question: SymptomQuestion) -> Iterator[Observation]:
    """What the caller states."""
    for name in STATED:
        stated = getattr(question, name)
        for value in stated if isinstance(stated, tuple) else () if stated is None else (stated,):
            yield Observation(f"{name}={value_text(value)}", (f"/{name}",))
    if (status := ring_gap_verdict(question.ring_gap).status) in VALUES["ring_gap"]:
        yield Observation(f"ring_gap={status}", ("/ring_gap",))


def _in_the_box(box: InTheBox) -> Iterator[Observation]:
    for value in box.rings:
        yield Observation(f"rings={value}", ("/question/rings",))
    if box.as_service_data is not None:
        value = "as-service-data" if box.as_service_data else "other-than-service-data"
        yield Observation(f"in_it={value}", ("/question/in_it_now", "/question/service_data"))
    if box.status == "stated":
        yield Observation("in_it=stated", (box.pointer,))
    if box.lubricants and all(lubricant.family.protects_hypoid for lubricant in box.lubricants):
        yield Observation("in_it=axle-oil", (box.pointer,))
    for finding in box.findings:
        for found in (finding.effect, box.outcomes.get(finding.rule)):
            yield Observation(f"finding={finding.rule}:{found}", (box.pointer, *finding.about), finding)


def fields_of(marks: Iterable[str]) -> frozenset[str]:
    """The fields that something is known of."""
    return frozenset(mark.partition("=")[0] for mark in marks)


def ring_gap_verdict(gap: RingGap | None) -> RingGapVerdict:
    """The gap against the limit that the service data sets, in the direction it gives; without both, no judgement."""
    if gap is None:
        return RingGapVerdict(status="not-given", text=Said("No ring gap given.", "no-ring-gap"))
    measured_mm, limit_mm, worn_when = gap.measured_mm, gap.service_limit_mm, gap.worn_when
    if measured_mm is None or limit_mm is None or worn_when is None:
        lacking = tuple(name for name in NEEDED_OF_A_GAP if getattr(gap, name) is None)
        text = (
            f"The gap cannot be judged without {listed((NEEDED_OF_A_GAP[name] for name in lacking), 'and')}. Limit and "
            "direction stand in the service data of this box; there is no general limit."
        )
        return RingGapVerdict(status="no-judgement", text=Said(text, "ring-gap-cannot-be-judged", without=lacking))
    is_past = measured_mm < limit_mm if worn_when == "smaller" else measured_mm > limit_mm
    side = "past" if is_past else "within"
    text = (
        f"The gap of {plain(measured_mm)} mm is {side} the service limit of {plain(limit_mm)} mm; on this set a worn "
        f"ring makes it {worn_when}."
    )
    stated = {"measured_mm": measured_mm, "service_limit_mm": limit_mm, "worn_when": worn_when}
    return RingGapVerdict(
        status="past-limit" if is_past else "within-limit", text=Said(text, f"ring-gap-{side}-limit", **stated)
    )
