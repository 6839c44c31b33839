"""A drain answer, and what stays of an old fluid, as plain text for a terminal."""

from collections.abc import Iterable, Iterator

from api.terminal_layout import (
    bullet,
    caution_line,
    foot,
    mark_of,
    number,
    page,
    titled,
    wrapped,
)
from knowledge.drain.answer import DrainPlan, FullDrainAnswer
from knowledge.drain.leftover_answer import DrainRound, FullLeftover
from knowledge.parts.provenance import Assumption, Finding
from knowledge.text import percent

TOLD = ("cautions", "no-data")
FIELDS = {
    "/drained_l": "drained each time",
    "/target_old_share": "share that may stay",
    "/old": "the old fluid",
    "/new": "the new fluid",
}


def drain_text(answer: FullDrainAnswer) -> str:
    """The whole answer, most needed first."""
    needed_l = answer.litres_to_target
    needed = [bullet(f"{litres(needed_l)} of new fluid for that.")] if needed_l is not None else []
    return page(
        [
            [wrapped(answer.summary), *needed],
            titled("Round by round", _round_lines(answer.rounds)),
            titled("The same litres in another way", (_plan_line(plan) for plan in answer.plans)),
            titled("Mind this", _finding_lines(answer.findings)),
            titled("Take care", (caution_line(item) for item in answer.cautions)),
            titled("Not said, taken as given", _assumed_lines(answer.assumed)),
            [wrapped(foot(answer.knowledge))],
        ]
    )


def leftover_lines(left: FullLeftover | None) -> Iterator[str]:
    """What stays of the fluid that is in the box."""
    if left is None:
        return
    yield wrapped(left.text, 2)
    yield from _round_lines(left.rounds)
    yield from _finding_lines(left.findings)
    yield from _assumed_lines(left.assumed)


def _round_lines(rounds: Iterable[DrainRound]) -> Iterator[str]:
    for number_, item in enumerate(rounds, start=1):
        mark = mark_of(item.rests_on)
        said = [f"{percent(item.old_share)}{mark} of the old fluid left"]
        if item.kv100_mm2_s is not None:
            grade = f", about grade {item.hot_grade_estimate}" if item.hot_grade_estimate else ""
            said.append(f"KV100 about {number(item.kv100_mm2_s)} mm²/s{mark}{grade}")
        if item.litres_used is not None:
            said.append(f"{litres(item.litres_used)} used")
        yield bullet(f"after round {number_}: {'; '.join(said)}")


def litres(volume_l: float) -> str:
    """A volume as said at the counter."""
    said = number(volume_l)
    return f"{said} litre" if said == "1" else f"{said} litres"


def _plan_line(plan: DrainPlan) -> str:
    each = percent(plan.drained_share) if plan.drained_l is None else litres(plan.drained_l)
    rounds = f"{plan.rounds} round{'s' if plan.rounds > 1 else ''}"
    return bullet(f"{rounds} of {each}: {percent(plan.old_share)} left. {plan.text}")


def _finding_lines(findings: Iterable[Finding]) -> Iterator[str]:
    for item in findings:
        if item.effect in TOLD:
            yield bullet(item.in_full)


def _assumed_lines(assumed: Iterable[Assumption]) -> Iterator[str]:
    for item in assumed:
        mark = mark_of(item.standing)
        yield bullet(f"{FIELDS.get(item.pointer, item.pointer)}: {item.value}{mark}")
