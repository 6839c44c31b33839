"""A shift answer as plain text for a terminal."""

from collections.abc import Iterable, Iterator

from api.terminal_layout import MARK, bullet, caution_line, foot, mark_of, number, page, titled, wrapped
from knowledge.parts.provenance import Finding
from knowledge.shift.answer import JudgedFacing, LeastChange, Margin, ShiftAnswer

VERDICTS = {"fits": "stands it", "fits-with-care": "stands it with care", "does-not-fit": "does not stand it"}
TOLD = ("excludes", "cautions")
LIMITS = {
    "sliding_speed_m_s": "sliding speed",
    "specific_energy_j_mm2": "energy",
    "mean_power_w_mm2": "mean power",
    "pressure_n_mm2": "pressure",
    "interface_temperature_c": "face",
}


def shift_text(answer: ShiftAnswer) -> str:
    """The whole answer, most needed first."""
    name = next(item.name for item in answer.facings if item.facing == answer.facing)
    return page(
        [
            [wrapped(answer.summary)],
            titled(f"What it asks of the ring: {name}", _figure_lines(answer)),
            titled("The facings, best first", (line for item in answer.facings for line in _facing_lines(item))),
            titled("The least change that helps", _change_lines(answer)),
            titled("How it was judged", map(bullet, answer.how_judged)),
            titled("Take care", (caution_line(item) for item in answer.cautions)),
            titled("Not said, taken as given", _assumed_lines(answer)),
            [wrapped(foot(answer.knowledge))],
        ]
    )


def _figure_lines(answer: ShiftAnswer) -> Iterator[str]:
    yield bullet(
        f"Cone torque {number(answer.cone_torque_nm)} N·m against an index torque of "
        f"{number(answer.index_torque_nm)} N·m: it {'blocks' if answer.blocks else 'does not block'}."
    )
    if answer.sync_time_s is None:
        yield bullet(answer.sync_reason or "The speeds never match.")
    else:
        yield bullet(
            f"Speeds match in {_time(answer.sync_time_s)} at the most, with {number(answer.energy_j or 0)} J of "
            "friction."
        )
    if answer.wiping_time_s is not None:
        yield bullet(f"Before that the film is wiped away in {_time(answer.wiping_time_s)}{MARK}.")
    if answer.interface_peak_c is not None and answer.after_shifts_c is not None:
        yield bullet(
            f"At the worse end of friction the face reaches at least {number(answer.interface_peak_c)} °C{MARK}; "
            f"ring and cone are left at about {number(answer.after_shifts_c)} °C{MARK}."
        )


def _time(seconds: float) -> str:
    return f"{number(seconds)} s" if seconds >= 1 else f"{number(1000 * seconds)} ms"


def _facing_lines(item: JudgedFacing) -> Iterator[str]:
    place = f"{item.rank:>3}." if item.rank else "   -"
    yield wrapped(f"{place} {item.name}: {VERDICTS[item.verdict]}. {item.verdict_text}", 0, 5)
    known = [margin for margin in item.margins if margin.ratio is not None]
    yield wrapped("of its limits: " + "; ".join(_margin(margin) for margin in known), 5)
    yield from (bullet(finding.text, 5) for finding in _worst_first(item.findings))


def _margin(margin: Margin) -> str:
    mark = mark_of(margin.standing) or mark_of(margin.rests_on)
    return f"{LIMITS[margin.limit]} {number(100 * (margin.ratio or 0))} %{mark}"


def _worst_first(findings: Iterable[Finding]) -> list[Finding]:
    told = [item for item in findings if item.effect in TOLD]
    return sorted(told, key=lambda item: (TOLD.index(item.effect), item.severity == "note"))


def _change_lines(answer: ShiftAnswer) -> Iterator[str]:
    """Per facing what helps; where nothing does, the reasons in one entry."""
    by_facing: dict[str, list[LeastChange]] = {}
    for change in answer.least_changes:
        by_facing.setdefault(change.facing, []).append(change)
    for facing, changes in by_facing.items():
        helping = [change.text for change in changes if change.to is not None]
        if helping:
            yield bullet(f"{facing.capitalize()}, any one of these: {' '.join(helping)}")
        else:
            reasons = "; ".join(dict.fromkeys(change.reason for change in changes if change.reason))
            yield bullet(f"{facing.capitalize()}: no single change within the bounds is enough: {reasons}.")


def _assumed_lines(answer: ShiftAnswer) -> Iterator[str]:
    for item in answer.question.assumed:
        mark = mark_of(item.standing)
        yield bullet(f"{item.pointer.strip('/').replace('_', ' ')}: {item.value}{mark}")
