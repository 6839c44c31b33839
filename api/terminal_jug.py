"""A jug answer, and a judged jug, as plain text for a terminal."""

from collections.abc import Iterable, Iterator

from api.terminal_layout import (
    bullet,
    caution_line,
    figure_text,
    foot,
    mark_of,
    number,
    page,
    titled,
    wrapped,
)
from knowledge.jug.answer import JugAnswer, NearestClass
from knowledge.jug.judged_jug import JudgedJug
from knowledge.text import plain

VERDICTS = {
    "fits": "fits",
    "fits-with-care": "fits with care",
    "depends": "depends on what is not known",
    "does-not-fit": "does not fit",
}
TOLD = ("excludes", "cautions", "no-data")
CURVE_SHOWN_C = (-20, 0, 40, 60, 80, 100, 120)


def jug_text(answer: JugAnswer) -> str:
    """The whole answer, most needed first."""
    told = [item for item in answer.label_findings if item.effect in TOLD]
    return page(
        [
            [wrapped(answer.summary)],
            titled("What its figures come to", _figure_lines(answer)),
            titled("Label against data sheet", (bullet(item.text) for item in told)),
            titled("For this box", _verdict_lines(answer)),
            titled("This line of the data sheet would decide", (bullet(item.ask) for item in answer.would_decide)),
            titled("Classes nearest to it", (_nearest_line(item) for item in answer.nearest_classes)),
            titled("Take care", (caution_line(item) for item in answer.cautions)),
            titled("Not said, taken as given", _assumed_lines(answer)),
            [wrapped(foot(answer.knowledge))],
        ]
    )


def judged_jug_lines(jugs: Iterable[JudgedJug]) -> Iterator[str]:
    """The jugs at hand, best first, each with what speaks against it and the line that would decide."""
    for jug in sorted(jugs, key=lambda jug: (jug.rank is None, jug.rank or 0)):
        yield bullet(f"{jug.name}: {VERDICTS[jug.verdict]}.")
        effects = ("excludes",) if jug.verdict in ("does-not-fit", "depends") else ("cautions",)
        for item in jug.findings:
            if item.effect in effects:
                yield bullet(item.in_full, 4)
        for item in jug.would_decide:
            yield wrapped(f"Would decide: {item.ask}", 4, 6)


def _figure_lines(answer: JugAnswer) -> Iterator[str]:
    names = "; ".join(f"{edition}: {name or 'none'}" for edition, name in answer.j306.items())
    if answer.question.kv100_mm2_s is not None:
        yield bullet(f"gear-oil grade (SAE J306) in each edition: {names}")
        yield bullet(f"engine-oil grade (SAE J300) its KV100 allows: {', '.join(answer.j300) or 'none'}")
    if answer.question.kv40_mm2_s is not None:
        yield bullet(f"ISO viscosity grade: {answer.iso_vg or 'none'}")
    index = answer.viscosity_index
    if index is None:
        yield bullet(f"no viscosity index: {answer.viscosity_index_reason}")
    else:
        yield bullet(f"viscosity index: {index}")
    limit = answer.cold_limit
    flows = "cold limit not known" if limit.temperature_c is None else f"flows down to {plain(limit.temperature_c)} °C"
    yield bullet(f"{flows}: {limit.basis[0].lower()}{limit.basis[1:]}")
    points = [
        f"{point.temperature_c:g} °C {number(point.kv_mm2_s)}{' (extrapolated)' if point.screening else ''}"
        for point in answer.curve
        if point.temperature_c in CURVE_SHOWN_C and point.kv_mm2_s is not None
    ]
    if points:
        yield bullet(f"viscosity in mm²/s: {'; '.join(points)}")


def _verdict_lines(answer: JugAnswer) -> Iterator[str]:
    if answer.verdict is None:
        return
    yield wrapped(f"The jug {VERDICTS[answer.verdict]}.", 2)
    for item in answer.findings:
        if item.effect in TOLD:
            figures = "; ".join(figure_text(figure) for figure in item.figures if figure.name == "bearing_ratio")
            yield bullet(f"{item.in_full}{f' [bearing viscosity ratio {figures}]' if figures else ''}")


def _nearest_line(item: NearestClass) -> str:
    off = "; ".join(item.off)
    return bullet(f"{item.lubricant.name}: {off or 'every figure given lies within its band'}.")


def _assumed_lines(answer: JugAnswer) -> Iterator[str]:
    for item in answer.question.assumed:
        yield bullet(f"density at 15 °C: {item.value}{mark_of(item.standing)}")
