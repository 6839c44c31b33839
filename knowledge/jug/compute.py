"""Is this jug right? Its label against its sheet, and its verdict by the same rules as a class."""

from collections.abc import Iterable, Sequence
from itertools import islice
from typing import Any

from knowledge.base import KnowledgeBase
from knowledge.citing import answer_id, sources_of
from knowledge.fluids.data_sheet import Sheet
from knowledge.fluids.possible_lubricants import possible_lubricants
from knowledge.ids import with_ids
from knowledge.judging.cautions import cautions_of, not_against, of_this_box
from knowledge.judging.judgement import Judgement
from knowledge.jug.answer import FullJudgedJug, FullJugAnswer, JudgedJug, JugAnswer, WouldDecide
from knowledge.jug.figures import cold_limit, curve, engine_grades, grade_in_words, no_index_because, sources_of_figures
from knowledge.jug.judged_sheet import OF_THE_LIKELIEST, JudgedSheet
from knowledge.jug.nearest_classes import nearest_classes
from knowledge.jug.question import JugQuestion
from knowledge.jug.rules.label import label_findings, label_grade_is_the_grade_of_the_sheet
from knowledge.jug.shelf import judged_sheet, judged_sheets, ranks
from knowledge.jug.would_decide import would_decide
from knowledge.lubricant import Lubricant
from knowledge.parts.jug import Jug
from knowledge.parts.lubricant_name import LubricantName, Verdict
from knowledge.parts.notes import CautionNote, RuleNote, messages_of
from knowledge.parts.provenance import SEVERITIES_FROM_WORST, Assumption, Caution, Finding
from knowledge.parts.request_model import Detail
from knowledge.physics.grades import iso_viscosity_grade
from knowledge.shop.shop import NO_SHOP, Shop, filled_in, from_shelf
from knowledge.text import Said, capitalized, first_sentence, plain, reworded, spoken

LABEL_GRADE = label_grade_is_the_grade_of_the_sheet.id

ALWAYS = frozenset({"always"})
UNLABELLED = frozenset({"label-missing"})

# The parts of an answer whose sentences have a code.
WITH_CODES = (
    "summary", "say", "because", "care", "cold_limit", "nearest_classes", "viscosity_index_reason", "assumed",
    "label_findings", "findings", "cautions",
)  # fmt: skip

MOST_CARE = 3
MOST_DOUBTS = 5
MOST_CAUTIONS = 4

VERDICTS: dict[Verdict, Said] = {
    "fits": Said("It fits this box", "jug-fits"),
    "fits-with-care": Said("It fits this box with care", "jug-fits-with-care"),
    "does-not-fit": Said("It does not fit this box", "jug-does-not-fit"),
    "depends": Said("Whether it fits this box is still open", "jug-depends"),
}

LABEL_AGREES = Said("label and figures agree", "label-and-figures-agree")
ANOTHER_EDITION = Said("the label names it by another edition", "label-names-another-edition")
ASK_FOR_THE_SHEET = Said("ask for the data sheet", "ask-for-the-sheet")
USUAL_DENSITY = Said(
    "Not given, or none that an oil can have; the middle of what such oils usually have.", "assumed-usual-density"
)
NO_LABEL = Said("no label to hold it against", "no-label")


def compute_jug_answer(
    question: JugQuestion, base: KnowledgeBase, shop: Shop = NO_SHOP, detail: Detail = "short"
) -> JugAnswer:
    """The answer to a question about one jug, in full a `FullJugAnswer`; its box is looked up in `shop`.

    Raises UnknownIds when the question names an id that neither the knowledge nor the shop has.
    """
    question = with_ids(question, base, shop.ids)
    question = from_shelf(question, question.shelf_ref, shop)
    box = filled_in(question.question, shop)[0] if question.question else None
    sheet = Sheet(question, base, box is not None and box.is_without_rings)
    of_box = Judgement.of(box, base, region=shop.region) if box else None
    judged = judged_sheet(sheet, of_box) if of_box else None
    findings = judged.label_findings if judged else tuple(label_findings(sheet))
    doubts = sorted((one for one in findings if one.effect != "supports"), key=_severity)[:MOST_DOUBTS]
    surely = ALWAYS if sheet.has_label else ALWAYS | UNLABELLED
    cautions = cautions_of(of_box.cases if of_box else None, base, surely)
    if judged and judged.verdict in ("fits", "fits-with-care"):
        cautions = not_against({one.family.id for one in judged.lubricants}, cautions, base)
    own = of_this_box(cautions, base, MOST_CAUTIONS)
    lines = would_decide(judged) if judged else ()
    kv40, index = question.kv40_mm2_s, sheet.viscosity_index
    short: dict[str, Any] = {
        "knowledge": base.stamp,
        "answer_id": answer_id(
            "jug", question, base.digest, *(shop.used_by(question.question) if question.question else ())
        ),
        "summary": _summary(sheet, findings, judged),
        "say": _say(sheet, doubts, judged, lines, own),
        "j306": {row.edition: None for row in base.sae_j306}
        | {edition: grade.name for edition, grade in sheet.sheet_grades.items()},
        "j300": engine_grades(sheet),
        "iso_vg": None if kv40 is None else iso_viscosity_grade(kv40_mm2_s=kv40, rows=base.iso_3448),
        "viscosity_index": None if index is None else round(index),
        "cold_limit": cold_limit(sheet),
        "label_findings": tuple(RuleNote(rule=one.rule, severity=one.severity, text=one.text) for one in doubts),
        "nearest_classes": nearest_classes(sheet),
        "verdict": judged and judged.verdict,
        "because": judged and judged.because,
        "care": tuple(islice(judged.care, MOST_CARE)) if judged else (),
        "ask_of_the_sheet": tuple(line.name for line in lines),
        "cautions": own,
    }
    if detail == "short":
        return JugAnswer(**short)
    may_be = judged.lubricants if judged else possible_lubricants(sheet)
    in_box = judged.findings if judged else ()
    density, assumed = _density(sheet, may_be)
    behind: dict[str, Any] = {
        "question": question.model_copy(update={"question": box}),
        "assumed": assumed,
        "viscosity_index_reason": no_index_because(sheet),
        "density15_kg_m3": density,
        "curve": tuple(curve(sheet, density)),
        "label_findings": findings,
        "may_be": _names(may_be),
        "findings": in_box,
        "would_decide": lines,
        "cautions": cautions,
        "sources": sources_of((*findings, *in_box, *cautions), base, *sources_of_figures(sheet)),
    }
    full = short | behind
    return FullJugAnswer(**full, messages=tuple(messages_of({name: full[name] for name in WITH_CODES})))


def at_hand(jugs: Sequence[Jug], judgement: Judgement) -> tuple[JudgedSheet, ...]:
    """Jugs at hand or on the shelf, judged for a box; ids in them must be known."""
    is_without_rings = judgement.question.is_without_rings
    return judged_sheets([Sheet(jug, judgement.base, is_without_rings) for jug in jugs], judgement) if jugs else ()


def judged_jugs(sheets: Sequence[JudgedSheet], detail: Detail = "short") -> tuple[JudgedJug, ...]:
    """These as an answer shows them, in full as `FullJudgedJug`."""
    return tuple(
        _judged_jug(number, sheet, rank, detail)
        for number, (sheet, rank) in enumerate(zip(sheets, ranks(sheets), strict=True), start=1)
    )


def _judged_jug(number: int, judged: JudgedSheet, rank: int | None, detail: Detail) -> JudgedJug:
    jug, lines = judged.sheet.jug, would_decide(judged)
    short: dict[str, Any] = {
        "name": jug.name or f"Jug {number}",
        "shelf_id": getattr(jug, "id", None),
        "verdict": judged.verdict,
        "rank": rank,
        "because": judged.because,
        "ask_of_the_sheet": tuple(line.name for line in lines),
    }
    if detail == "short":
        return JudgedJug(**short)
    names = _names(judged.lubricants)
    return FullJudgedJug(**short, may_be=names, label_findings=judged.label_findings, would_decide=lines)


def _names(lubricants: Iterable[Lubricant]) -> tuple[LubricantName, ...]:
    return tuple({(one.id, one.grade): one.lubricant_name for one in lubricants}.values())


def _summary(sheet: Sheet, findings: Sequence[Finding], judged: JudgedSheet | None) -> str:
    """One plain sentence of at most 140 characters."""
    doubts = sum(finding.effect == "cautions" and finding.severity != "note" for finding in findings)
    rest = LABEL_AGREES if sheet.sheet_grades else None if judged else ASK_FOR_THE_SHEET
    if any(one.rule == LABEL_GRADE and one.effect == "cautions" for one in findings):
        rest = ANOTHER_EDITION
    if doubts:
        rest = Said(f"{doubts} doubt{'s' if doubts > 1 else ''} about label or sheet", "doubts", count=doubts)
    elif not sheet.has_label:
        rest = NO_LABEL
    grade = grade_in_words(sheet)
    words, parts = (f"{grade}; {rest}.", (grade, rest)) if rest else (f"{grade}.", (grade,))
    if judged is None:
        return Said(capitalized(words), "jug-in-short", parts)
    headline = OF_THE_LIKELIEST if judged.suits_the_likeliest else VERDICTS[judged.verdict]
    return Said(f"{headline.removesuffix('.')}: {words}", "jug-in-short", (headline, *parts))


def _say(
    sheet: Sheet,
    doubts: Iterable[Finding],
    judged: JudgedSheet | None,
    lines: Sequence[WouldDecide],
    cautions: Iterable[CautionNote],
) -> str:
    """The verdict and why, else the grade; then what is to be asked, and what is wrong or dangerous about it."""
    told = [one for one in doubts if one.effect == "cautions"]
    wrong = [one.text for one in told if one.severity != "note"]
    renamed = (one.text for one in told if one.severity == "note" and one.rule == LABEL_GRADE)
    if judged:
        verdict = VERDICTS[judged.verdict]
        first = [] if judged.suits_the_likeliest else [reworded(verdict, f"{verdict}.")]
        first += [] if any(text.startswith(judged.because) for text in wrong) else [judged.because]
        first += [_ask_for(line) for line in lines[:1]]
    else:
        grade = grade_in_words(sheet)
        first = [reworded(grade, f"{capitalized(grade)}."), *map(first_sentence, renamed)]
    return spoken((*first, *wrong, *(caution.text for caution in cautions if caution.severity == "danger")))


def _severity(item: Finding | Caution) -> int:
    return SEVERITIES_FROM_WORST.index(item.severity)


def _ask_for(line: WouldDecide) -> Said:
    text = f"Ask for this line of the data sheet: {line.name}."
    return Said(text, "ask-for-a-line", pointer=line.pointer, line=line.name)


def _density(sheet: Sheet, may_be: Sequence[Lubricant]) -> tuple[float | None, tuple[Assumption, ...]]:
    """The density given, else the middle of what it may be as an assumption."""
    if sheet.density15_kg_m3 is not None or not may_be:
        return sheet.density15_kg_m3, ()
    usual = [one.density15_kg_m3 for one in may_be]
    middle = (min(usual) + max(usual)) / 2
    assumed = Assumption(
        pointer="/density15_kg_m3",
        value=f"{plain(middle)} kg/m³",
        standing="common-practice",
        reason=USUAL_DENSITY,
    )
    return middle, (assumed,)
