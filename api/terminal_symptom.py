"""A symptom answer as plain text for a terminal."""

from collections.abc import Iterable, Iterator

from api.terminal_layout import (
    bullet,
    caution_line,
    figure_text,
    foot,
    mark_of,
    page,
    titled,
    wrapped,
)
from knowledge.shop.models import FromBox
from knowledge.symptom.answer import FullCheck, FullEvidence, FullFluidInIt, FullSuspect, FullSymptomAnswer

IN_DETAIL = 6
CHECKS_SHOWN = 4
FIGURES = {"wiping_time_s": "wiping time", "bearing_ratio": "bearing viscosity ratio"}
CURES = {"yes": "fluid cures it", "maybe": "fluid may cure it", "no": "fluid does not cure it"}


def symptom_text(answer: FullSymptomAnswer) -> str:
    """The whole answer, most needed first."""
    suspected = [item for item in answer.suspects if item.leads or item.score > 0]
    cleared = [item for item in answer.suspects if item not in suspected]
    gap = answer.ring_gap
    return page(
        [
            [wrapped(answer.summary)],
            titled(f"Can fluid cure it? {answer.fluid_can_cure}", [wrapped(answer.reason, 2)]),
            titled("Suspects in order", _suspect_lines(suspected)),
            titled("What speaks against others", _cleared_lines(cleared)),
            titled("Check next, cheapest first", _check_lines(answer.next_checks, suspected)),
            titled("The ring gap", [wrapped(gap.text, 2)] if gap.status != "not-given" else []),
            titled("From the shop's own box", _box_lines(answer.from_box)),
            titled("The fluid in it", _fluid_lines(answer.fluid_in_it)),
            titled("Take care", (caution_line(item) for item in answer.cautions)),
            titled("Ask next", (bullet(line) for line in answer.ask_for)),
            [wrapped(foot(answer.knowledge))],
        ]
    )


def _fluid_lines(fluid: FullFluidInIt) -> Iterator[str]:
    yield wrapped(fluid.text, 2)
    yield from (bullet(item.in_full, 4) for item in fluid.findings if item.effect in ("excludes", "cautions"))


def _box_lines(box: FromBox | None) -> Iterator[str]:
    if box is not None:
        yield bullet(f"{box.name} ({box.id})")
    if box is not None and box.notes:
        yield bullet(box.notes)


def _suspect_lines(suspects: list[FullSuspect]) -> Iterator[str]:
    """The leading ones with their evidence; the order is a sum of steps and no probability."""
    if not suspects:
        return
    yield wrapped("Each reason moves a suspect by whole steps; the sum orders them and is no probability.", 2)
    for rank, item in enumerate(suspects[:IN_DETAIL], start=1):
        near = "" if item.leads else "; behind"
        yield wrapped(f"{rank:>3}. {item.words} ({item.side}; {CURES[item.fluid_cures]}): {item.score:+d}{near}", 0, 5)
        if item.leads:
            yield from (_evidence_line(evidence) for evidence in (*item.speaks_for, *item.against))
    if rest := suspects[IN_DETAIL:]:
        yield wrapped(f"     Then: {'; '.join(f'{item.words} ({item.score:+d})' for item in rest)}.", 0, 5)


def _evidence_line(evidence: FullEvidence) -> str:
    figures = (f"{FIGURES[figure.name]} {figure_text(figure)}" for figure in evidence.figures if figure.name in FIGURES)
    told = f" [{text}]" if (text := "; ".join(figures)) else ""
    mark = mark_of(evidence.standing)
    return bullet(f"{evidence.steps:+d}{mark} {evidence.text}{told}", 5)


def _cleared_lines(suspects: list[FullSuspect]) -> Iterator[str]:
    for item in suspects:
        yield bullet(f"{item.words} ({item.score:+d}): {' '.join(evidence.text for evidence in item.against[:2])}")


def _check_lines(checks: tuple[FullCheck, ...], suspects: Iterable[FullSuspect]) -> Iterator[str]:
    words = {item.id: item.words for item in suspects}
    for check in checks[:CHECKS_SHOWN]:
        yield bullet(check.words)
        yield wrapped(check.how, 4)
        if check.safety:
            yield wrapped(f"Safety: {check.safety}", 4)
        for outcome in check.outcomes:
            if pointed := [words[id] for id in outcome.points_to if id in words]:
                yield wrapped(f"{outcome.result} Points to {'; or '.join(pointed)}.", 6, 8)
    if rest := checks[CHECKS_SHOWN:]:
        yield bullet(f"Then also: {' '.join(check.words for check in rest)}")
