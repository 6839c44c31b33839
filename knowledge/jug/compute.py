"""Is this jug right? Its label against its sheet, and its verdict by the same rules as a class."""

from collections.abc import Iterator, Sequence

from knowledge.base import DEFAULT_J306_EDITION, KnowledgeBase
from knowledge.box.cases import Cases
from knowledge.box.question import FillQuestion
from knowledge.citing import answer_id, sources_of
from knowledge.fluids.data_sheet import POINTERS, Sheet
from knowledge.fluids.possible_lubricants import possible_oils
from knowledge.ids import check_ids
from knowledge.judging.cautions import cautions_of
from knowledge.judging.judgement import Judgement
from knowledge.judging.window import window
from knowledge.jug.answer import ColdLimit, CurvePoint, JugAnswer, UnderstoodJug
from knowledge.jug.judged_jug import FullJudgedJug
from knowledge.jug.nearest_classes import nearest_classes
from knowledge.jug.possible_oil import PossibleOil
from knowledge.jug.question import JugQuestion
from knowledge.jug.rules.label import LABEL_RULES
from knowledge.jug.verdict import JudgedSheet, because, judge_sheet, ranks, would_decide
from knowledge.lubricant import Lubricant
from knowledge.parts.jug import Jug
from knowledge.parts.lubricant_name import Limits, LubricantName
from knowledge.parts.provenance import Assumption, Finding
from knowledge.physics.density import COLDEST_C, HOTTEST_C, density_kg_m3
from knowledge.physics.grades import iso_viscosity_grade, j300_grades
from knowledge.physics.limits import OutOfRange
from knowledge.physics.viscosity import dynamic_viscosity_mpa_s, is_screening, kinematic_viscosity_mm2_s
from knowledge.shop.shop import NO_SHOP, Shop, filled_in
from knowledge.text import listed, plain, significant

CURVE_C = (-40, -30, -20, -10, 0, 10, 20, 40, 60, 80, 100, 120, 150)

ALWAYS = frozenset({"always"})

UNLABELLED = frozenset({"label-missing"})

VERDICTS = {
    "fits": "It fits this box",
    "fits-with-care": "It fits this box with care",
    "does-not-fit": "It does not fit this box",
    "depends": "Whether it fits this box is still open",
}


def jug_answer(asked: JugQuestion, base: KnowledgeBase, shop: Shop = NO_SHOP) -> JugAnswer:
    """The answer to a question about one jug; `shop` is where the box of its fill question is looked up.

    Errors: UnknownIds, when the question names an id that the knowledge or the shop does not have.
    """
    check_ids(asked, base, shop.boxes)
    box = filled_in(asked.question, shop)[0] if asked.question else None
    sheet = Sheet.of(asked, base)
    oils = possible_oils(sheet, base)
    judged = _judged_sheets([sheet], _asked_for(box, base), box, base)[0][0] if box else None
    verdict, findings = (judged.verdict, judged.findings) if judged else (None, ())
    label_findings = tuple(_label_findings(sheet, base))
    cautions = cautions_of(
        Cases.of(box, base) if box else None, base, ALWAYS if _has_label(sheet) else ALWAYS | UNLABELLED
    )
    density = _density(sheet, oils)
    engine_grades = j300_grades(kv100_mm2_s=asked.kv100_mm2_s, rows=base.sae_j300) if asked.kv100_mm2_s else ()
    return JugAnswer(
        knowledge=base.stamp,
        answer_id=answer_id("jug", asked, base.digest, *(shop.used_by(asked.question) if asked.question else ())),
        question=UnderstoodJug.model_construct(
            **{name: getattr(asked, name) for name in JugQuestion.model_fields if name != "question"},
            question=box,
            assumed=tuple(_assumptions(sheet, density)),
        ),
        summary=_summary(sheet, engine_grades, label_findings, VERDICTS[verdict] if verdict else None),
        j306={row.edition: None for row in base.sae_j306}
        | {edition: grade.name for edition, grade in sheet.sheet_grades.items()},
        j300=engine_grades,
        iso_vg=iso_viscosity_grade(kv40_mm2_s=asked.kv40_mm2_s, rows=base.iso_3448) if asked.kv40_mm2_s else None,
        viscosity_index=None if sheet.viscosity_index is None else round(sheet.viscosity_index),
        viscosity_index_reason=_no_index_because(sheet, base),
        cold_limit=_cold_limit(sheet),
        density15_kg_m3=density,
        curve=tuple(_curve(sheet, density)),
        label_findings=label_findings,
        nearest_classes=nearest_classes(sheet, base),
        may_be=_may_be(oils),
        verdict=verdict,
        findings=findings,
        would_decide=would_decide(judged, base) if judged else (),
        cautions=cautions,
        sources=sources_of((*label_findings, *findings, *cautions), base, *_sources_of_figures(sheet)),
    )


def _asked_for(box: FillQuestion, base: KnowledgeBase) -> Limits:
    """The KV100 that the fill answer for a box asks for."""
    found = window(Judgement.of(box, base))
    return found.kv100_mm2_s if found else Limits()


def judged_jugs(
    jugs: Sequence[Jug], asked_for: Limits, box: FillQuestion, base: KnowledgeBase
) -> tuple[FullJudgedJug, ...]:
    """Jugs at hand or on the shelf, judged for a box; ids in them must be known."""
    if not jugs:
        return ()
    sheets = [Sheet.of(jug, base) for jug in jugs]
    judged, judgement = _judged_sheets(sheets, asked_for, box, base)
    return tuple(
        _judged_jug(number, sheet, one, rank, base)
        for number, (sheet, one, rank) in enumerate(zip(sheets, judged, ranks(judged, judgement), strict=True), start=1)
    )


def _judged_sheets(
    sheets: Sequence[Sheet], asked_for: Limits, box: FillQuestion, base: KnowledgeBase
) -> tuple[list[JudgedSheet], Judgement]:
    """Each sheet with the oils that it leaves open under every rule; an oil that several leave open is judged once."""
    of_sheets = [possible_oils(sheet, base) for sheet in sheets]
    different = {id(oil): oil for oils in of_sheets for oil in oils}
    judgement = Judgement.of(box, base, tuple(different.values()))
    found = {key: PossibleOil(judgement, index, {}) for index, key in enumerate(different)}
    judged = [
        judge_sheet(sheet.jug, tuple(found[id(oil)] for oil in oils), asked_for)
        for sheet, oils in zip(sheets, of_sheets, strict=True)
    ]
    return judged, judgement


def _judged_jug(number: int, sheet: Sheet, judged: JudgedSheet, rank: int | None, base: KnowledgeBase) -> FullJudgedJug:
    lines = would_decide(judged, base)
    return FullJudgedJug(
        name=sheet.jug.name or f"Jug {number}",
        shelf_id=getattr(sheet.jug, "id", None),
        verdict=judged.verdict,
        rank=rank,
        because=because(judged),
        ask_of_the_sheet=tuple(line.ask.partition(",")[0].partition(":")[0].removesuffix(".") for line in lines),
        may_be=_may_be([item.oil for item in judged.oils]),
        findings=tuple(finding for finding in judged.findings if finding.sources),
        label_findings=tuple(_label_findings(sheet, base)),
        would_decide=lines,
    )


def _may_be(oils: Sequence[Lubricant]) -> tuple[LubricantName, ...]:
    return tuple({(oil.id, oil.grade): oil.lubricant_name for oil in oils}.values())


def _label_findings(sheet: Sheet, base: KnowledgeBase) -> Iterator[Finding]:
    """What the rules about labels and sheets say; one that is not concerned says nothing."""
    for rule in LABEL_RULES:
        given = {"base": base} if "base" in rule.parameters else {}
        said = rule.judge(**{name: getattr(sheet, name) for name in rule.reads}, **given)
        if said.is_concerned:
            about = tuple(dict.fromkeys(pointer for name in rule.reads for pointer in POINTERS[name]))
            yield rule.finding(said, about)


def _summary(sheet: Sheet, engine_grades: Sequence[str], label_findings: Sequence[Finding], verdict: str | None) -> str:
    """One plain sentence of at most 140 characters."""
    doubts = sum(finding.effect == "cautions" for finding in label_findings)
    said, asked = _as_graded(sheet, engine_grades), "nothing speaks against its label"
    if doubts:
        asked = f"{doubts} thing{'s' if doubts > 1 else ''} to ask about it"
    elif not _has_label(sheet):
        asked = "no label to hold it against"
    return f"{verdict}: {said}; {asked}." if verdict else f"{said[0].upper()}{said[1:]}; {asked}."


def _has_label(sheet: Sheet) -> bool:
    return sheet.label_family is not None or sheet.grade_text is not None


def _as_graded(sheet: Sheet, engine_grades: Sequence[str]) -> str:
    """The grade that its figures come to; a W grade found at a measured point may be a colder one.

    It is one of gear oil unless the label speaks of engine oil.
    """
    if not sheet.sheet_grades:
        has_figures = sheet.kv100_sheared_mm2_s or sheet.jug.kv40_mm2_s or sheet.cold.is_measured
        if has_figures or not _has_label(sheet):
            return "without KV100 it has no gear-oil grade"
        return "judged by its label alone, without a figure"
    grade = sheet.sheet_grades[DEFAULT_J306_EDITION]
    if grade.name is None:
        if sheet.fresh_row is not None:
            return f"by its figures {sheet.fresh_row.grade} when fresh, below it once sheared"
        return "its figures give no gear-oil grade"
    if sheet.grade and sheet.grade.scale == "sae-j300" and engine_grades:
        return f"by its KV100 {listed(engine_grades, 'or')} (SAE J300)"
    or_colder = " or a colder W grade" if grade.winter and sheet.cold.limit_c is None else ""
    return f"by its figures {grade.name}{or_colder} (SAE J306, {DEFAULT_J306_EDITION})"


def _no_index_because(sheet: Sheet, base: KnowledgeBase) -> str | None:
    jug, least = sheet.jug, base.astm_d2270[0].kv100_min_mm2_s
    if sheet.viscosity_index is not None:
        return None
    if jug.kv40_mm2_s is None or jug.kv100_mm2_s is None:
        return "It needs both KV40 and KV100."
    return f"It is not defined where KV100 is below {plain(least)} mm²/s."


def _cold_limit(sheet: Sheet) -> ColdLimit:
    cold = sheet.cold
    if cold.is_interpolated:
        between = f"{plain(cold.flows_at_c)} and {plain(cold.too_thick_at_c)} °C"
        text = f"Between the measured points at {between}; not measured itself."
        return ColdLimit(temperature_c=round(cold.limit_c, 1), basis=text)
    if cold.limit_c is not None:
        worst = "The worst of figures that contradict each other."
        return ColdLimit(
            temperature_c=cold.limit_c, basis=worst if cold.contradictions else "As the data sheet states it."
        )
    if cold.flows_at_c is not None:
        text = "The coldest measured point that is thin enough; the limit lies there or colder."
        return ColdLimit(temperature_c=cold.flows_at_c, basis=text)
    if cold.too_thick_at_c is not None:
        text = f"Not known; too thick at {plain(cold.too_thick_at_c)} °C, so it lies above that."
        return ColdLimit(temperature_c=None, basis=text)
    if cold.contradictions:
        return ColdLimit(temperature_c=None, basis="Not known; the cold figures contradict each other.")
    if sheet.is_thicker_than_labelled:
        return ColdLimit(temperature_c=None, basis="Not known; it is thicker than its label says.")
    if sheet.claimed_cold_limit_c is not None:
        return ColdLimit(temperature_c=sheet.claimed_cold_limit_c, basis="What the label claims; nothing measured.")
    return ColdLimit(temperature_c=None, basis="Nothing measured and nothing claimed.")


def _density(sheet: Sheet, oils: Sequence[Lubricant]) -> float | None:
    """The density given, else the middle of what it may be."""
    if sheet.density15_kg_m3 is not None or not oils:
        return sheet.density15_kg_m3
    usual = [oil.density15_kg_m3 for oil in oils]
    return (min(usual) + max(usual)) / 2


def _assumptions(sheet: Sheet, density15_kg_m3: float | None) -> Iterator[Assumption]:
    if sheet.density15_kg_m3 is None and density15_kg_m3 is not None:
        yield Assumption(
            pointer="/density15_kg_m3",
            value=f"{plain(density15_kg_m3)} kg/m³",
            standing="common-practice",
            reason="Not given, or none that an oil can have; the middle of what such oils usually have.",
        )


def _curve(sheet: Sheet, density15_kg_m3: float | None) -> Iterator[CurvePoint]:
    if sheet.line is None:
        return
    for celsius in CURVE_C:
        try:
            kinematic = kinematic_viscosity_mm2_s(line=sheet.line, temperature_c=celsius)
        except OutOfRange:
            kinematic = None
        dynamic = None
        if kinematic is not None and density15_kg_m3 is not None and COLDEST_C <= celsius <= HOTTEST_C:
            density = density_kg_m3(density15_kg_m3=density15_kg_m3, temperature_c=celsius)
            dynamic = dynamic_viscosity_mpa_s(kinematic_viscosity_mm2_s=kinematic, density_kg_m3=density)
        yield CurvePoint(
            temperature_c=celsius,
            kv_mm2_s=None if kinematic is None else significant(kinematic),
            viscosity_mpa_s=None if dynamic is None else significant(dynamic),
            screening=is_screening(temperature_c=celsius),
        )


def _sources_of_figures(sheet: Sheet) -> Iterator[str]:
    """Where the tables and formulas behind the figures come from."""
    if sheet.kv100_mm2_s is not None:
        yield from ("sae-j306-201902", "sae-j306-200506", "sae-j300-202405")
    if sheet.jug.kv40_mm2_s is not None:
        yield "iso-3448-1992"
    if sheet.line is not None:
        yield from ("astm-d341-20", "astm-d2270-10", "astm-d1250-04")
