"""A fill answer as plain text for a terminal, less than 100 columns wide."""

import textwrap
from collections.abc import Iterable, Iterator

from knowledge.answers import AskNext, Candidate, Caution, FillAnswer, Finding, Limits, Span, Window

WIDTH = 96
MARK = "*"
UNCHECKED = {"from-memory", "judgement"}
MARK_MEANS = f"{MARK} rests on a figure from memory or on our judgement, not on a source that was read again."
VERDICTS = {
    "fits": "fits",
    "fits-with-care": "fits with care",
    "depends": "depends on what is not known",
    "does-not-fit": "does not fit",
}
SEVERITIES = ("danger", "warning", "note")
FIGURES = {
    "kv_hot_mm2_s": "viscosity hot",
    "kv_cold_mm2_s": "viscosity at the coldest start",
    "bearing_ratio": "bearing viscosity ratio",
    "film_lambda": "gear film ratio",
    "wiping_time_s": "wiping time",
    "shifts_freely_above_c": "shifts freely above",
}


def fill_text(answer: FillAnswer) -> str:
    """The whole answer, most needed first."""
    fitting = sorted((item for item in answer.candidates if item.rank is not None), key=lambda item: item.rank)
    blocks = [
        [_wrapped(answer.summary)],
        _titled("Service data first", [_wrapped(answer.service_data.text, 2)]),
        _titled("The jug must show", _window_lines(answer.window)),
        _titled("What fits, best first", (line for item in fitting for line in _candidate_lines(item))),
        _titled("Jugs at hand", (_bullet(f"{jug.name}: {VERDICTS[jug.verdict]}.") for jug in answer.jugs)),
        _titled("Why not the others", _refused_lines(answer)),
        _titled("Take care", (_caution_line(item) for item in _by_severity(answer.cautions))),
        _titled("Not said, taken as given", _assumed_lines(answer)),
        _titled("Ask next", _ask_lines(answer)),
        [_wrapped(_foot(answer))],
    ]
    text = "\n\n".join("\n".join(lines) for block in blocks if (lines := list(block)))
    return f"{text}\n\n{MARK_MEANS}" if MARK in text else text


def _titled(title: str, lines: Iterable[str]) -> Iterator[str]:
    found = list(lines)
    return iter([title.upper(), *found] if found else [])


def _wrapped(text: str, indent: int = 0, hang: int | None = None) -> str:
    """The text in lines of at most WIDTH; `hang` indents all lines but the first."""
    later = " " * (indent if hang is None else hang)
    return textwrap.fill(text, WIDTH, initial_indent=" " * indent, subsequent_indent=later, break_on_hyphens=False)


def _bullet(text: str, indent: int = 2) -> str:
    return _wrapped(f"- {text}", indent, indent + 2)


def _number(value: float) -> str:
    return f"{value:.0f}" if abs(value) >= 100 else f"{value:.3g}"


def _span(span: Span) -> str:
    low, high = _number(span.min), _number(span.max)
    unit = "" if span.unit == "1" else f" {span.unit}"
    mark = MARK if span.rests_on in UNCHECKED or span.standing in UNCHECKED else ""
    screening = " (extrapolated)" if span.screening else ""
    return f"{low}{unit}{mark}{screening}" if low == high else f"{low} to {high}{unit}{mark}{screening}"


def _limits(limits: Limits) -> str | None:
    if limits.min is not None and limits.max is not None:
        return f"from {_number(limits.min)} to {_number(limits.max)}"
    if limits.min is not None:
        return f"at least {_number(limits.min)}"
    return None if limits.max is None else f"at most {_number(limits.max)}"


def _window_lines(window: Window) -> Iterator[str]:
    if window.ask_for:
        yield from (_bullet(line) for line in window.ask_for)
        return
    if kv100 := _limits(window.kv100_mm2_s):
        yield _bullet(f"viscosity at 100 °C {kv100} mm²/s")
    if window.families:
        yield _bullet(f"category or type: {', '.join(window.families)}")


def _candidate_lines(item: Candidate) -> Iterator[str]:
    yield _wrapped(f"{item.rank:>3}. {item.lubricant.name}: {VERDICTS[item.verdict]}", 0, 5)
    figures = (
        f"{words} {_span(span)}" for name, words in FIGURES.items() if (span := getattr(item.figures, name)) is not None
    )
    if line := "; ".join(figures):
        yield _wrapped(line, 5)
    told = (finding for finding in item.findings if finding.effect in ("cautions", "excludes"))
    yield from (_bullet(_reason(finding), 5) for finding in told)


def _reason(finding: Finding) -> str:
    text = finding.text
    if finding.only_if and finding.only_if not in text:
        text = f"{text.rstrip('.')} ({finding.only_if})."
    return text


def _refused_lines(answer: FillAnswer) -> Iterator[str]:
    """The refused classes, those with the same main reason together."""
    groups: dict[str, list[str]] = {}
    for item in answer.candidates:
        if item.rank is None:
            refusals = [finding for finding in item.findings if finding.effect == "excludes"]
            refusals.sort(key=lambda finding: (-finding.share_of_worlds, SEVERITIES.index(finding.severity)))
            reason = _reason(refusals[0]) if refusals else "No rule speaks for it in every case tried."
            groups.setdefault(reason, []).append(item.lubricant.name)
    for reason, names in groups.items():
        yield _bullet(f"{', '.join(names)}: {reason}")


def _by_severity(cautions: Iterable[Caution]) -> list[Caution]:
    return sorted(cautions, key=lambda item: SEVERITIES.index(item.severity))


def _caution_line(item: Caution) -> str:
    return _bullet(f"{item.severity.capitalize()}: {item.text}")


def _assumed_lines(answer: FillAnswer) -> Iterator[str]:
    for item in answer.question.assumed:
        mark = MARK if item.standing in UNCHECKED else ""
        yield _bullet(f"{_field(item.pointer)}: {item.value}{mark}")
    if answer.worlds.tried > 1:
        fields = ", ".join(_field(field.pointer) for field in answer.worlds.over)
        yield _bullet(f"{answer.worlds.tried} cases were tried, over what is not known: {fields}.")


def _field(pointer: str) -> str:
    """A pointer in words: `/rings/0/facing` is the facing of ring set 1."""
    parts = pointer.strip("/").split("/")
    if parts[0] == "rings" and len(parts) == 3 and parts[1].isdigit():
        return f"{parts[2].replace('_', ' ')} of ring set {int(parts[1]) + 1}"
    return ", ".join(part.replace("_", " ") for part in parts)


def _ask_lines(answer: FillAnswer) -> Iterator[str]:
    names = {item.lubricant.id: item.lubricant.name for item in answer.candidates}
    for item in answer.ask_next:
        yield from _question_lines(item, names)
    if answer.safest_if_unanswered:
        name = names.get(answer.safest_if_unanswered, answer.safest_if_unanswered)
        reason = f" {answer.safest_reason}" if answer.safest_reason else ""
        yield _wrapped(f"If nobody can say, the safest choice is {name}.{reason}", 2)


def _question_lines(item: AskNext, names: dict[str, str]) -> Iterator[str]:
    yield _bullet(item.question)
    yield _wrapped(f"How to tell: {item.how_to_tell}", 4)
    for reply in item.answers:
        then = names.get(reply.then, reply.then) if reply.then else "no class fits"
        yield _wrapped(f"{reply.words}: {then}", 6, 8)


def _foot(answer: FillAnswer) -> str:
    stamp = answer.knowledge
    return (
        "The manufacturer's service data decides. "
        f"Knowledge {stamp.version}, {stamp.digest[:19]}; rules and sources: /v1/rules, /v1/sources."
    )
