"""A fill answer laid out for a page: what stands where. What is said comes from the answer."""

from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from api.permalink import address, field_of
from api.terminal import FIGURES, VERDICTS, then
from api.terminal_layout import MARK, figure_text, mark_of, place_in_words
from knowledge.base import KnowledgeBase
from knowledge.fill.answer import AskNext, Candidate, FillAnswer
from knowledge.citing import words_used
from knowledge.jug.judged_jug import JudgedJug
from knowledge.loading.schema import FamilyRow, WordRow
from knowledge.parts.lubricant_name import LubricantName
from knowledge.parts.provenance import Caution, Finding

IN_SIGHT = 6


class ReplyLink(NamedTuple):
    """A reply, what would lead then, and the address that gives it."""

    words: str
    then: str
    href: str
    field: str
    value: str


class Question(NamedTuple):
    """A question to the caller with its replies."""

    text: str
    how_to_tell: str
    replies: tuple[ReplyLink, ...]


class Fit(NamedTuple):
    """One class that fits or may fit."""

    rank: int
    name: str
    verdict: str
    words: str
    provisos: tuple[str, ...]
    figures: tuple[tuple[str, str], ...]


class Refusal(NamedTuple):
    """Classes refused for the same main reason."""

    names: str
    reason: str
    rule: str | None
    also: tuple[tuple[str, tuple[str, ...]], ...]


class JugLine(NamedTuple):
    """A line to read to whoever holds the data sheet: what it is called there, and what it must say."""

    label: str
    value: str


class Assumed(NamedTuple):
    """What was not said and taken as given."""

    words: str
    value: str
    reason: str


class FillView(NamedTuple):
    """Everything of an answer that a page shows."""

    answer: FillAnswer
    questions: tuple[Question, ...]
    is_open: bool
    lead: Fit | None
    others: tuple[Fit, ...]
    further: tuple[Fit, ...]
    jug_lines: tuple[JugLine, ...]
    families: tuple[FamilyRow, ...]
    cautions: tuple[Caution, ...]
    cautions_in_sight: tuple[Caution, ...]
    cautions_folded: tuple[Caution, ...]
    words: tuple[WordRow, ...]
    refusals: tuple[Refusal, ...]
    jugs: tuple[tuple[JudgedJug, str, tuple[str, ...]], ...]
    assumed: tuple[Assumed, ...]
    safest: str | None


def fill_view(answer: FillAnswer, values: Mapping[str, str], base: KnowledgeBase) -> FillView:
    """The answer to the question of an address."""
    ranked = sorted((item for item in answer.candidates if item.rank is not None), key=lambda item: item.rank)
    fits = tuple(_fit(item) for item in ranked)
    has_lead = answer.window.kv100_mm2_s.max is not None
    others = fits[1:] if has_lead else fits
    names = {item.lubricant.id: item.lubricant.name for item in answer.candidates}
    return FillView(
        answer=answer,
        questions=tuple(_question(item, values, names) for item in answer.ask_next),
        is_open=answer.outcome == "depends",
        lead=fits[0] if has_lead else None,
        others=others[:IN_SIGHT],
        further=others[IN_SIGHT:],
        jug_lines=tuple(_jug_line(line) for line in answer.window.ask_for),
        families=tuple(base.families[id] for id in answer.window.families),
        cautions=answer.cautions,
        cautions_in_sight=tuple(item for item in answer.cautions if is_of_this_box(item, base)),
        cautions_folded=tuple(item for item in answer.cautions if not is_of_this_box(item, base)),
        words=tuple(words_used(_first_told(answer, fits[0] if has_lead else None), base)),
        refusals=tuple(_refusals(answer)),
        jugs=tuple((jug, VERDICTS[jug.verdict], _told(jug.findings)) for jug in _best_first(answer.jugs)),
        assumed=tuple(_assumed(answer)),
        safest=names.get(answer.safest_if_unanswered or ""),
    )


def is_of_this_box(caution: Caution, base: KnowledgeBase) -> bool:
    """Whether it can hurt someone, or surely belongs to this box; what goes with every oil change may be folded."""
    is_common = "always" in base.cautions[caution.id].when
    return caution.severity == "danger" or (caution.severity == "warning" and not caution.only_if and not is_common)


def _first_told(answer: FillAnswer, lead: Fit | None) -> Iterator[str]:
    """What stands before the reader of the first choice."""
    yield from answer.window.ask_for
    if lead:
        yield from (*lead.provisos, *(words for words, _ in lead.figures))
    yield from (caution.text for caution in answer.cautions)


def _question(item: AskNext, values: Mapping[str, str], names: Mapping[str, str]) -> Question:
    field = field_of(item.pointer)
    return Question(
        text=item.question,
        how_to_tell=item.how_to_tell,
        replies=tuple(
            ReplyLink(
                words=reply.words,
                then=then(reply, names),
                href=address("./", values, **{field: reply.value}),
                field=field,
                value=reply.value,
            )
            for reply in item.answers
        ),
    )


def _fit(item: Candidate) -> Fit:
    figures = (
        (words, figure_text(figure))
        for name, words in FIGURES.items()
        if (figure := getattr(item.figures, name)) is not None
    )
    return Fit(
        rank=item.rank,
        name=item.lubricant.name,
        verdict=item.verdict,
        words=VERDICTS[item.verdict],
        provisos=_told(item.findings),
        figures=tuple(figures),
    )


def _told(findings: tuple[Finding, ...]) -> tuple[str, ...]:
    return tuple(reason(finding) for finding in findings if finding.effect in ("cautions", "excludes"))


def reason(finding: Finding) -> str:
    """What a finding says, when it bites, and the mark where a figure of it is from memory or our judgement."""
    return finding.in_full + (MARK if any(figure.is_unchecked for figure in finding.figures) else "")


def _refusals(answer: FillAnswer) -> Iterator[Refusal]:
    """The refused classes by their main reason; what else speaks against one of them stands beside its name."""
    groups: dict[str, list[tuple[Candidate, list[Finding]]]] = {}
    for item in answer.candidates:
        if item.rank is None:
            against = item.against
            main = reason(against[0]) if against else "No rule speaks for it in every case tried."
            groups.setdefault(main, []).append((item, against))
    for main, members in groups.items():
        further = ((item.lubricant.name, tuple(reason(finding) for finding in more[1:])) for item, more in members)
        yield Refusal(
            names=named_together([item.lubricant for item, _ in members]),
            reason=main,
            rule=members[0][1][0].rule if members[0][1] else None,
            also=tuple(pair for pair in further if pair[1]),
        )


def named_together(lubricants: Iterable[LubricantName]) -> str:
    """The names of several classes, what those of a family share said once."""
    grades: dict[str, list[str]] = {}
    for one in lubricants:
        grades.setdefault(one.name.removesuffix(one.grade).strip(), []).append(one.grade)
    return "; ".join(f"{shared} {', '.join(several)}" for shared, several in grades.items())


def _jug_line(line: str) -> JugLine:
    label, colon, value = line.partition(": ")
    return JugLine(label, value[:1].upper() + value[1:]) if colon else JugLine("", line)


def _best_first(jugs: tuple[JudgedJug, ...]) -> list[JudgedJug]:
    return sorted(jugs, key=lambda jug: (jug.rank is None, jug.rank or 0))


def _assumed(answer: FillAnswer) -> Iterator[Assumed]:
    for item in answer.question.assumed:
        yield Assumed(place_in_words(item.pointer), item.value + mark_of(item.standing), item.reason or "")
