"""What was seen: a symptom question and its box turned into the `field=value` marks that evidence names."""

from collections.abc import Iterator, Mapping
from typing import NamedTuple, get_args

from knowledge.base import KnowledgeBase
from knowledge.box.worlds import Worlds
from knowledge.parts.provenance import Finding
from knowledge.symptom.answer import RingGapVerdict
from knowledge.symptom.fluid_in_it import InIt
from knowledge.symptom.question import FluidState, Gears, GripTest, RingGap, SymptomQuestion, When
from knowledge.symptom.rows import SymptomRow
from knowledge.text import listed, plain

FLAGS = ("engine_off_same", "double_clutch_cures", "after_fluid_change")

VALUES: Mapping[str, tuple[str, ...]] = {
    "when": get_args(When.__value__),
    "gears": get_args(Gears.__value__),
    **{name: ("true", "false") for name in FLAGS},
    "fluid_state": get_args(FluidState.__value__),
    "ring_gap": ("past-limit", "within-limit"),
    "grip_test": get_args(GripTest.__value__),
    "rings": ("none", "lined", "unlined", "worn", "new", "multi-cone"),
    "in_it": ("as-service-data", "other-than-service-data"),
}

IMPLIED = ("when", "gears", "fluid_state")

EFFECTS = ("supports", "cautions", "excludes")


class Observation(NamedTuple):
    """One thing seen: where in the question it stands, and the finding it is where a rule saw it."""

    mark: str
    about: tuple[str, ...]
    finding: Finding | None = None


def observations(
    question: SymptomQuestion, worlds: Worlds | None, in_it: InIt, base: KnowledgeBase
) -> Mapping[str, Observation]:
    """Everything seen, by its mark; what is seen in two ways is seen once."""
    seen: dict[str, Observation] = {}
    for observation in (
        *_stated(question),
        *_implied(question, base),
        *(_of_the_rings(worlds) if worlds else ()),
        *_of_the_fluid(in_it),
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
    """What the complaints say by themselves; what the caller states of the same field stands instead."""
    for symptom in question.symptoms:
        implies = base.by_id(SymptomRow)[symptom].implies
        for name in IMPLIED:
            value = getattr(implies, name)
            if value is not None and not getattr(question, name):
                yield Observation(f"{name}={value}", ("/symptoms",))


def _of_the_rings(worlds: Worlds) -> Iterator[Observation]:
    """What holds of the rings whatever is still unknown of them."""
    kinds = [part.value for part in worlds.parts("facing_kinds")]
    conditions = [{land.condition for land in part.value} for part in worlds.parts("lands")]
    holding = {
        "none": not any(kinds),
        "lined": all("lined" in kind for kind in kinds),
        "unlined": all(kind and "lined" not in kind for kind in kinds),
        "worn": all("worn" in condition for condition in conditions),
        "new": all(condition == {"new"} for condition in conditions),
        "multi-cone": all(part.value > 1 for part in worlds.parts("cones")),
    }
    for value, holds in holding.items():
        if holds:
            yield Observation(f"rings={value}", ("/question/rings",))


def _of_the_fluid(in_it: InIt) -> Iterator[Observation]:
    if in_it.as_service_data is not None:
        value = "as-service-data" if in_it.as_service_data else "other-than-service-data"
        yield Observation(f"in_it={value}", ("/question/in_it_now", "/question/service_data"))
    for finding in in_it.findings:
        yield Observation(f"finding={finding.rule}:{finding.effect}", (in_it.pointer, *finding.about), finding)


def ring_gap_verdict(gap: RingGap | None) -> RingGapVerdict:
    """The gap against the limit that the service data sets, in the direction it gives; without both, no judgement."""
    if gap is None:
        return RingGapVerdict(status="not-given", text="No ring gap given.")
    lacking = [
        words
        for value, words in (
            (gap.measured_mm, "the measured gap"),
            (gap.service_limit_mm, "the service limit"),
            (gap.worn_when, "whether a worn ring makes the gap smaller or larger"),
        )
        if value is None
    ]
    if lacking:
        return RingGapVerdict(
            status="no-judgement",
            text=f"The gap cannot be judged without {listed(lacking, 'and')}. Limit and direction stand in the service "
            "data of this box; there is no general limit.",
        )
    is_smaller = gap.worn_when == "smaller"
    past = gap.measured_mm < gap.service_limit_mm if is_smaller else gap.measured_mm > gap.service_limit_mm
    return RingGapVerdict(
        status="past-limit" if past else "within-limit",
        text=f"The gap of {plain(gap.measured_mm)} mm is {'past' if past else 'within'} the service limit of "
        f"{plain(gap.service_limit_mm)} mm; on this set a worn ring makes it {gap.worn_when}.",
    )
