"""A shift answer as plain text for a terminal."""

from collections.abc import Iterable, Iterator

from api.terminal_layout import bullet, caution_line, foot, mark_of, page, titled, wrapped
from knowledge.parts.provenance import Finding, weakest
from knowledge.shift.answer import FullJudgedFacing, FullMargin, FullShiftAnswer, LeastChange
from knowledge.shift.digits import rounded_ratio, shown

VERDICTS = {"fits": "stands it", "fits-with-care": "stands it with care", "does-not-fit": "does not stand it"}
TOLD = ("excludes", "cautions")
LIMITS = {
    "sliding_speed_m_s": "sliding speed",
    "specific_energy_j_mm2": "energy",
    "mean_power_w_mm2": "mean power",
    "pressure_n_mm2": "pressure",
    "interface_temperature_c": "face",
}


def shift_text(answer: FullShiftAnswer) -> str:
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


def _figure_lines(answer: FullShiftAnswer) -> Iterator[str]:
    def figure(name: str, unit: str) -> str:
        value, standing = getattr(answer, name), answer.standings[name]
        in_ms = unit == "s" and value < 1
        text = f"{shown(1000 * value if in_ms else value, standing)} {'ms' if in_ms else unit}"
        return f"{text}{mark_of(standing)}"

    yield bullet(
        f"Cone torque {figure('cone_torque_nm', 'N·m')} against an index torque of {figure('index_torque_nm', 'N·m')}: "
        f"it {'blocks' if answer.blocks else 'does not block'}."
    )
    if answer.sync_time_s is None:
        yield bullet(answer.sync_reason or "The speeds never match.")
    else:
        time, energy = figure("sync_time_s", "s"), figure("energy_j", "J")
        yield bullet(f"Speeds match in {time} at the most, with {energy} of friction.")
    if answer.wiping_time_s is not None:
        yield bullet(f"Before that the film is wiped away in {figure('wiping_time_s', 's')}.")
    if answer.interface_peak_c is not None:
        yield bullet(
            f"At the worse end of friction the face reaches at least {figure('interface_peak_c', '°C')}; "
            f"ring and cone are left at about {figure('after_shifts_c', '°C')}."
        )


def _facing_lines(item: FullJudgedFacing) -> Iterator[str]:
    place = f"{item.rank:>3}." if item.rank else "   -"
    yield wrapped(f"{place} {item.name}: {VERDICTS[item.verdict]}. {item.verdict_text}", 0, 5)
    known = [margin for margin in item.margins if margin.ratio is not None]
    yield wrapped("of its limits: " + "; ".join(_margin(margin) for margin in known), 5)
    yield from (bullet(finding.text, 5) for finding in _worst_first(item.findings))


def _margin(margin: FullMargin) -> str:
    standing = weakest(margin.standing, margin.rests_on)
    percent = 100 * rounded_ratio(margin.ratio or 0, standing)
    return f"{LIMITS[margin.limit]} {percent:.0f} %{mark_of(standing)}"


def _worst_first(findings: Iterable[Finding]) -> list[Finding]:
    told = [item for item in findings if item.effect in TOLD]
    return sorted(told, key=lambda item: (TOLD.index(item.effect), item.severity == "note"))


def _change_lines(answer: FullShiftAnswer) -> Iterator[str]:
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


def _assumed_lines(answer: FullShiftAnswer) -> Iterator[str]:
    for item in answer.question.assumed:
        mark = mark_of(item.standing)
        yield bullet(f"{item.pointer.strip('/').replace('_', ' ')}: {item.value}{mark}")
