"""How figures, marks and verdicts are shown, on a page as in a terminal."""

from collections.abc import Iterable, Mapping
from typing import Any

from knowledge.fill.answer import FigureAt
from knowledge.parts.provenance import SEVERITIES_FROM_WORST, UNCHECKED, Figure, Standing
from knowledge.parts.units import in_words
from knowledge.physics.density import COLDEST_C
from knowledge.text import digits, grouped, in_steps, plain, significant

MARK = "*"
MARK_MEANS = f"{MARK} rests on a figure from memory or on our judgement, not on a source that was checked."
VERDICTS = {
    "fits": "fits",
    "fits-with-care": "fits with care",
    "depends": "depends on what is not known",
    "does-not-fit": "does not fit",
}
FIGURES = {
    "kv_hot_mm2_s": "viscosity hot",
    "kv_cold_mm2_s": "viscosity at the coldest start",
    "bearing_ratio": "bearing viscosity ratio",
    "film_lambda": "gear film ratio",
    "wiping_time_s": "wiping time",
    "shifts_freely_above_c": "shifts freely above",
    "blocking_reserve": "blocking reserve",
    "interface_peak_c": "face of the ring in a hard shift, at least",
}


def number(value: float) -> str:
    """Three digits are enough at the counter."""
    return f"{value:.0f}" if abs(value) >= 100 else digits(value)


def about(value: float) -> str:
    """A figure that rests on judgement, with no more digits than that bears."""
    rounded = significant(value, 2)
    return grouped(rounded).replace(" ", "\N{NO-BREAK SPACE}") if abs(rounded) >= 1000 else digits(rounded)


def litres(volume_l: float) -> str:
    """A volume as people say it."""
    return f"{number(volume_l)} {'litre' if number(volume_l) == '1' else 'litres'}"


def seconds(value_s: float) -> str:
    """A time, below a second in milliseconds."""
    return f"{number(value_s)} s" if value_s >= 1 else f"{number(1000 * value_s)} ms"


def mark(standing: Standing | None) -> str:
    """The mark of what rests on memory or judgement, nothing for the rest."""
    return MARK if standing in UNCHECKED else ""


def figure_text(figure: Figure | FigureAt) -> str:
    """A figure or its range with its unit, marked and with two digits where it rests on memory or judgement."""
    ends = [value for value in (figure.min, figure.max) if value is not None]
    if not ends:
        return "not known"
    in_ms = figure.unit == "s" and max(ends) < 10
    marked = mark(figure.standing) or mark(figure.rests_on)
    low, *high = dict.fromkeys((about if marked else number)(value * 1000 if in_ms else value) for value in ends)
    start = "at least " if figure.max is None else "at most " if figure.min is None else ""
    unit = " ms" if in_ms else "" if figure.unit == "1" else f" {figure.unit}"
    return f"{start}{' to '.join((low, *high))}{unit}{marked}{_when(figure)}"


def _when(figure: Figure | FigureAt) -> str:
    if isinstance(figure, Figure):
        return " (extrapolated)" if figure.screening else ""
    at = [f"at {plain(figure.at_c)} °C"] if figure.at_c is not None and figure.unit != "°C" else []
    spread = [f"\N{MULTIPLICATION SIGN}/÷ {digits(figure.factor, 2)}"] if figure.factor is not None else []
    return f" ({', '.join(at + spread)})" if at or spread else ""


def free_above(figure: Figure | FigureAt) -> str:
    """From which temperature on first shifts come freely, in whole steps; what lies beyond the formula in words."""
    low, high = (
        f"below {plain(COLDEST_C)}" if value <= COLDEST_C else in_steps(value)
        for value in (figure.min, figure.max)
        if value is not None
    )
    return f"{low if low == high else f'{low} to {high}'} °C{MARK}"


def figure_lines(figures: Mapping[str, FigureAt]) -> tuple[tuple[str, str], ...]:
    """What each figure of a class is called, and the figure."""
    shown = {name: free_above if name == "shifts_freely_above_c" else figure_text for name in figures}
    return tuple((words, shown[name](figures[name])) for name, words in FIGURES.items() if name in figures)


def place_in_words(pointer: str) -> str:
    """A pointer in words: `/rings/0/facing` is the facing of ring set 1."""
    *parents, name = pointer.strip("/").split("/")
    if parents[:1] == ["rings"] and parents[1:]:
        return f"{in_words(name)} of ring set {int(parents[1]) + 1}"
    return " ".join(map(in_words, (*parents, name)))


def note(item: Any) -> str:
    """The sentence of a finding or a caution, with what it depends on where that is not known."""
    return str(getattr(item, "in_full", item.text))


def notes(findings: Iterable[Any]) -> list[str]:
    """The sentences of findings, the gravest first, without what speaks for a fluid."""
    told = [item for item in findings if getattr(item, "effect", None) != "supports"]
    return [note(item) for item in sorted(told, key=lambda item: SEVERITIES_FROM_WORST.index(item.severity))]


FILTERS = {
    "note": note,
    "notes": notes,
    "number": number,
    "about": about,
    "litres": litres,
    "free_above": free_above,
    "seconds": seconds,
    "mark": mark,
    "place_in_words": place_in_words,
}
WORDS = {"verdicts": VERDICTS, "mark_means": MARK_MEANS}
