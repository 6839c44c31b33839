"""What was seen: a symptom question and its box turned into the `field=value` marks that evidence names."""

from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple, get_args

from knowledge.base import KnowledgeBase
from knowledge.parts.provenance import Finding
from knowledge.symptom.answer import RingGapVerdict
from knowledge.symptom.judged_box import JudgedBox
from knowledge.symptom.known_fluid import KnownFluid
from knowledge.symptom.question import FluidState, Gears, GripTest, RingGap, SymptomQuestion, When
from knowledge.symptom.rows import SymptomRow
from knowledge.text import listed, plain

FLAGS = ("engine_off_same", "double_clutch_cures", "after_fluid_change")

VALUES: Mapping[str, tuple[str, ...]] = {
    "when": get_args(When.__value__),
    "gears": get_args(Gears.__value__),
    **dict.fromkeys(FLAGS, ("true", "false")),
    "fluid_state": get_args(FluidState.__value__),
    "ring_gap": ("past-limit", "within-limit"),
    "grip_test": get_args(GripTest.__value__),
    "rings": ("none", "lined", "unlined", "worn", "new", "multi-cone"),
    "in_it": ("as-service-data", "other-than-service-data"),
}

IMPLIED = ("when", "gears", "fluid_state")

# Marks that can be seen only with the box apart.
ON_BENCH = ("grip_test=", "ring_gap=")

EFFECTS = ("supports", "cautions", "excludes")


class Observation(NamedTuple):
    """One thing seen: where in the question it stands, and the finding it is where a rule saw it."""

    mark: str
    about: tuple[str, ...]
    finding: Finding | None = None


def observations(
    question: SymptomQuestion, fluid: KnownFluid, box: JudgedBox, base: KnowledgeBase
) -> Mapping[str, Observation]:
    """Everything seen, by its mark; what is seen in two ways is seen once."""
    seen: dict[str, Observation] = {}
    for observation in (
        *_stated(question),
        *_implied(question, base),
        *(Observation(f"rings={value}", ("/question/rings",)) for value in box.rings),
        *_of_the_fluid(fluid, box.findings),
    ):
        seen.setdefault(observation.mark, observation)
    return seen


def _stated(question: SymptomQuestion) -> Iterator[Observation]:
    for symptom in question.symptoms:
        yield Observation(f"symptoms={symptom}", ("/symptoms",))
    for name in ("when", "gears", "grip_test"):
        if (value := getattr(question, name)) is not None:
            yield Observation(f"{name}={value}", (f"/{name}",))
    for name in FLAGS:
        if (flag := getattr(question, name)) is not None:
            yield Observation(f"{name}={'true' if flag else 'false'}", (f"/{name}",))
    for state in question.fluid_state:
        yield Observation(f"fluid_state={state}", ("/fluid_state",))
    if (status := ring_gap_verdict(question.ring_gap).status) in VALUES["ring_gap"]:
        yield Observation(f"ring_gap={status}", ("/ring_gap",))


def _implied(question: SymptomQuestion, base: KnowledgeBase) -> Iterator[Observation]:
    """What the complaints imply; what the caller states of the same field stands instead."""
    for symptom in question.symptoms:
        implies = base.by_id(SymptomRow)[symptom].implies
        for name in IMPLIED:
            value = getattr(implies, name)
            if value is not None and not getattr(question, name):
                yield Observation(f"{name}={value}", ("/symptoms",))


def _of_the_fluid(fluid: KnownFluid, findings: Iterable[Finding]) -> Iterator[Observation]:
    if fluid.as_service_data is not None:
        value = "as-service-data" if fluid.as_service_data else "other-than-service-data"
        yield Observation(f"in_it={value}", ("/question/in_it_now", "/question/service_data"))
    for finding in findings:
        yield Observation(f"finding={finding.rule}:{finding.effect}", (fluid.pointer, *finding.about), finding)


def fields_of(marks: Iterable[str]) -> frozenset[str]:
    """The fields that something is known of."""
    return frozenset(mark.partition("=")[0] for mark in marks)


def ring_gap_verdict(gap: RingGap | None) -> RingGapVerdict:
    """The gap against the limit that the service data sets, in the direction it gives; without both, no judgement."""
    if gap is None:
        return RingGapVerdict(status="not-given", text="No ring gap given.")
    measured_mm, limit_mm, worn_when = gap.measured_mm, gap.service_limit_mm, gap.worn_when
    if measured_mm is None or limit_mm is None or worn_when is None:
        lacking = (
            words
            for value, words in (
                (measured_mm, "the measured gap"),
                (limit_mm, "the service limit"),
                (worn_when, "whether a worn ring makes the gap smaller or larger"),
            )
            if value is None
        )
        return RingGapVerdict(
            status="no-judgement",
            text=f"The gap cannot be judged without {listed(lacking, 'and')}. Limit and direction stand in the service "
            "data of this box; there is no general limit.",
        )
    is_past = measured_mm < limit_mm if worn_when == "smaller" else measured_mm > limit_mm
    return RingGapVerdict(
        status="past-limit" if is_past else "within-limit",
        text=f"The gap of {plain(measured_mm)} mm is {'past' if is_past else 'within'} the service limit of "
        f"{plain(limit_mm)} mm; on this set a worn ring makes it {worn_when}.",
    )
