"""A fill answer as plain text for a terminal, less than 100 columns wide."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby

from api.terminal_drain import leftover_lines, litres
from api.terminal_jug import VERDICTS, judged_jug_lines
from api.terminal_layout import (
    bullet,
    caution_line,
    figure_text,
    foot,
    mark_of,
    page,
    place_in_words,
    titled,
    wrapped,
)
from knowledge.fill.answer import AskNext, Candidate, FillAnswer, Reply
from knowledge.shop.models import FromBox

IN_DETAIL = 4
QUESTIONS_SHOWN = 3
TOLD = ("cautions", "excludes")
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
    questions = titled("Ask next", _ask_lines(answer))
    is_open = answer.outcome == "depends"
    has_window = answer.window.kv100_mm2_s.max is not None
    blocks = [
        [wrapped(answer.summary)],
        questions if is_open else [],
        titled("From the shop's own box", _box_lines(answer.question.from_box)),
        titled("Service data first", [wrapped(answer.service_data.text, 2)]),
        titled(f"The jug must show{mark_of(answer.window.rests_on)}", map(bullet, answer.window.ask_for)),
        [bullet(line) for line in answer.window.expect],
        titled(f"What {'fits' if has_window else 'may fit'}, best first", _fitting_lines(fitting)),
        titled("Jugs at hand, best first", judged_jug_lines(answer.jugs)),
        titled("The fluid that is in it now", leftover_lines(answer.leftover)),
        titled("Why not the others", _refused_lines(answer)),
        titled("Take care", (caution_line(item) for item in answer.cautions)),
        titled("Not said, taken as given", _assumed_lines(answer)),
        [] if is_open else questions,
        [wrapped(foot(answer.knowledge))],
    ]
    return page(blocks)


def _box_lines(box: FromBox | None) -> Iterator[str]:
    if box is None:
        return
    yield bullet(f"{box.name} ({box.id})")
    if box.filled_in:
        yield bullet(f"taken from it: {', '.join(map(place_in_words, box.filled_in))}")
    if box.stated_otherwise:
        yield bullet(f"as you stated, not as it stands there: {', '.join(map(place_in_words, box.stated_otherwise))}")
    if box.capacity_l is not None:
        yield bullet(f"takes {litres(box.capacity_l)}, as the shop noted it")
    if box.notes:
        yield bullet(box.notes)


def _fitting_lines(fitting: Sequence[Candidate]) -> Iterator[str]:
    """The best in detail, the others by name; what is said of every one of them stands once, at the top."""
    told = [[finding.in_full for finding in item.findings if finding.effect in TOLD] for item in fitting]
    shared = [text for text in told[0] if all(text in texts for texts in told)] if len(told) > 1 else []
    if shared:
        yield wrapped("For each of them:", 2)
        yield from (bullet(text, 4) for text in shared)
    for item, texts in zip(fitting[:IN_DETAIL], told):
        yield from _candidate_lines(item, [text for text in texts if text not in shared])
    for item in fitting[IN_DETAIL:]:
        yield wrapped(_ranked_name(item), 0, 5)


def _ranked_name(item: Candidate) -> str:
    return f"{item.rank:>3}. {item.lubricant.name}: {VERDICTS[item.verdict]}"


def _candidate_lines(item: Candidate, told: Iterable[str]) -> Iterator[str]:
    yield wrapped(_ranked_name(item), 0, 5)
    figures = (
        f"{words} {figure_text(span)}"
        for name, words in FIGURES.items()
        if (span := getattr(item.figures, name)) is not None
    )
    if line := "; ".join(figures):
        yield wrapped(line, 5)
    yield from (bullet(text, 5) for text in told)


def _refused_lines(answer: FillAnswer) -> Iterator[str]:
    """The refused classes, those with the same main reason together."""
    groups: dict[str, list[str]] = {}
    for item in answer.candidates:
        if item.rank is None:
            against = item.against
            reason = against[0].in_full if against else "No rule speaks for it in every case tried."
            groups.setdefault(reason, []).append(item.lubricant.name)
    for reason, names in groups.items():
        yield bullet(f"{', '.join(names)}: {reason}")


def _assumed_lines(answer: FillAnswer) -> Iterator[str]:
    for reason, items in groupby(answer.question.assumed, key=lambda item: item.reason):
        assumed = (f"{place_in_words(item.pointer)} {item.value}{mark_of(item.standing)}" for item in items)
        yield bullet(f"{'; '.join(assumed)}. {reason}")
    if answer.worlds.tried > 1:
        fields = ", ".join(place_in_words(field.pointer) for field in answer.worlds.over)
        yield bullet(f"{answer.worlds.tried} cases were tried, over what is not known: {fields}.")


def _ask_lines(answer: FillAnswer) -> Iterator[str]:
    if answer.outcome == "none-suitable" or not answer.ask_next:
        return
    names = {item.lubricant.id: item.lubricant.name for item in answer.candidates}
    for item in answer.ask_next[:QUESTIONS_SHOWN]:
        yield from _question_lines(item, names)
    if rest := answer.ask_next[QUESTIONS_SHOWN:]:
        yield bullet(f"Then also: {' '.join(item.question for item in rest)}")
    if answer.safest_if_unanswered:
        name = names.get(answer.safest_if_unanswered, answer.safest_if_unanswered)
        reason = f" {answer.safest_reason}" if answer.safest_reason else ""
        yield wrapped(f"If nobody can say, the safest choice is {name}.{reason}", 2)


def _question_lines(item: AskNext, names: Mapping[str, str]) -> Iterator[str]:
    yield bullet(item.question)
    yield wrapped(f"How to tell: {item.how_to_tell}", 4)
    by_outcome: dict[str, list[str]] = {}
    for reply in item.answers:
        by_outcome.setdefault(then(reply, names), []).append(reply.words)
    for outcome, replies in by_outcome.items():
        yield wrapped(f"{' or '.join(replies)}: {outcome}", 6, 8)


def then(reply: Reply, names: Mapping[str, str]) -> str:
    """What a reply leads to."""
    if reply.then is None:
        return "no general class fits"
    if reply.served < 0.5:
        return f"mostly no general class fits, else {names[reply.then]} leads"
    return f"{names[reply.then]} leads"
