"""Rules about the label of a jug: whether it says what the data sheet shows."""

from collections.abc import Iterator, Mapping, Sequence

from knowledge.base import KnowledgeBase
from knowledge.fluids.data_sheet import ColdFigures, Sheet
from knowledge.fluids.grades import SCALE_NAMES, GradeName
from knowledge.jug.rules.data_sheet import (
    cold_figures_must_agree,
    copper_strip_needs_heat_and_hours,
    figures_must_describe_an_oil,
    sheared_oil_must_keep_its_grade,
    viscosity_index_is_one_such_oils_have,
)
from knowledge.loading.fluid_rows import FamilyRow
from knowledge.parts.jug import Jug
from knowledge.parts.provenance import Finding
from knowledge.physics.grades import j300_grades
from knowledge.rule import Rule, RuleOutcome, cautions, no_data, not_concerned, rule, supports
from knowledge.text import grouped, listed, plain


@rule(("sae-j306-201902", "viscosity grade table"), ("sae-j306-200506", "viscosity grade table"))
def label_grade_is_the_grade_of_the_sheet(
    *, grade: GradeName | None, grade_text: str | None, fresh_grades: Mapping[str, str | None]
) -> RuleOutcome:
    """The hot grade on the label must be the one that KV100 on the data sheet comes to, in a named edition.

    Because the windows of SAE J306 moved between the editions: the same oil may have changed its name, and an oil
    outside of its window in every edition is not what its label says.
    """
    if grade is None or grade.scale != "sae-j306" or grade.summer is None:
        return not_concerned("no-grade", "The label names no hot grade of SAE J306.")
    if not fresh_grades:
        text = "The label says {grade_text}; ask the data sheet for KV100, which shows whether that is so."
        return no_data("no-kv100", text, grade_text=grade_text)
    found, editions = fresh_grades, f"the editions of {listed(fresh_grades, 'and')}"
    words = listed((f"{name or 'no grade'} in the {edition} edition" for edition, name in found.items()), "and")
    if len(set(found.values())) == 1:
        words = f"{next(iter(found.values())) or 'no grade'} in {editions}"
    agreeing = [edition for edition, name in found.items() if name == grade.summer.grade]
    if len(agreeing) == len(found):
        text = "Fresh, KV100 makes it grade {grade} in {editions}, as the label says."
        return supports("agrees", text, grade=grade.summer.grade, editions=editions)
    if agreeing:
        return cautions(
            "of-one-edition",
            "The label says {grade}, which is its name in the {edition} edition only: KV100 makes it "
            "{words}. Compare the figures and not the names.",
            grade=grade.summer.grade,
            edition=agreeing[0],
            words=words,
            severity="note",
        )
    text = "The label says {grade}, but KV100 makes it {words}. Trust the figure, ask the seller."
    return cautions("other-grade", text, grade=grade.summer.grade, words=words)


@rule(("sae-j300-202405", "viscosity grade table"))
def label_engine_grade_is_the_grade_of_the_sheet(
    *, grade: GradeName | None, kv100_mm2_s: float | None, base: KnowledgeBase
) -> RuleOutcome:
    """An engine-oil grade on the label must be one that KV100 allows.

    Because each hot grade of SAE J300 is a window of KV100; the low grades overlap, so several may be right.
    """
    if grade is None or grade.scale != "sae-j300" or grade.summer is None:
        return not_concerned("no-grade", "The label names no hot grade of SAE J300.")
    if kv100_mm2_s is None:
        return no_data(
            "no-kv100", "Ask the data sheet for KV100, which shows whether it is a {grade}.", grade=grade.summer.grade
        )
    found = j300_grades(kv100_mm2_s=kv100_mm2_s, rows=base.sae_j300)
    if grade.summer.grade in found:
        return supports("allowed", "KV100 allows the engine-oil grade {grade}.", grade=grade.summer.grade)
    words = listed(found, "or") if found else "no grade of that scale"
    text = "The label says engine-oil grade {grade}, but KV100 makes it {words}."
    return cautions("other-grade", text, grade=grade.summer.grade, words=words)


@rule(
    ("sae-j306-201902", "W grades"), ("sae-j300-202405", "W grades"), ("astm-d2983-22", "measured, never extrapolated")
)
def w_claim_wants_a_measured_cold_figure(
    *, grade: GradeName | None, cold: ColdFigures, base: KnowledgeBase
) -> RuleOutcome:
    """A W grade is a promise about a measured cold viscosity; without that figure it is only a claim.

    Because cold oil departs from the line through its warm figures without bound, so nothing but a measurement
    at the temperature of the grade stands behind the W.
    """
    if grade is None or grade.winter is None or (claimed := grade.winter.cold_limit_c) is None:
        return not_concerned("no-claim", "The label makes no W claim.")
    name = grade.winter.grade
    if grade.scale == "sae-j300":
        text = "{name} is an engine-oil W grade: its cranking and pumping figures are not among those given."
        return no_data("engine-oil", text, name=name)
    if cold.contradictions or cold.contradicts(claimed):
        return not_concerned(
            "told-elsewhere", "What was measured in the cold is against the W claim or itself: another rule says so."
        )
    if cold.proven_c is not None and cold.proven_c <= claimed:
        return supports("measured", "A measured cold figure stands behind the {name}.", name=name)
    if cold.is_measured:
        text = "What was measured in the cold does not reach the {claimed_c} °C of a {name}: ask for that figure."
        return cautions("not-reached", text, claimed_c=plain(claimed), name=name, severity="note")
    return cautions(
        "not-measured",
        "The label claims {name} with no measured figure behind it: ask for ASTM D2983, "
        "{flow_limit_mpa_s} mPa·s or less at {claimed_c} °C.",
        name=name,
        flow_limit_mpa_s=grouped(base.limit("flow-limit-mpa-s")),
        claimed_c=plain(claimed),
        severity="note",
    )


@rule(("sae-j306-201902", "W grades"), ("astm-d2983-22", "measured, never extrapolated"))
def cold_figure_must_bear_out_the_w_claim(
    *,
    grade: GradeName | None,
    cold: ColdFigures,
    kv100_mm2_s: float | None,
    kv100_sheared_mm2_s: float | None,
) -> RuleOutcome:
    """A measured cold figure, and the least KV100 of the grade, must bear out the W on the label.

    Because a W grade of SAE J306 has both conditions, and a jug that fails one of them is not that grade.
    """
    if grade is None or grade.scale != "sae-j306" or not grade.winter or (claimed := grade.winter.cold_limit_c) is None:
        return not_concerned("no-claim", "The label makes no W claim of SAE J306.")
    name = grade.winter.grade
    if cold.contradicts(claimed):
        at = "" if cold.too_thick_at_c is None else f"it was too thick at {plain(cold.too_thick_at_c)} °C"
        if cold.limit_c is not None:
            at = f"it reaches that thickness at {cold.limit_c:.3g} °C already"
        text = "The label claims {name}, to flow at {claimed_c} °C, but {at}. The measured figure counts."
        return cautions("too-thick", text, name=name, claimed_c=plain(claimed), at=at)
    thinnest = min((value for value in (kv100_mm2_s, kv100_sheared_mm2_s) if value is not None), default=None)
    if thinnest is not None and thinnest < grade.winter.kv100_min_mm2_s:
        return cautions(
            "too-thin",
            "A {name} keeps a KV100 of at least {kv100_min_mm2_s} mm²/s, sheared too; this one has {thinnest_mm2_s}.",
            name=name,
            kv100_min_mm2_s=plain(grade.winter.kv100_min_mm2_s),
            thinnest_mm2_s=plain(thinnest),
        )
    if cold.contradictions or not cold.is_measured:
        return not_concerned("no-figure", "No cold figure that counts to hold the W claim against.")
    return supports("nothing-against", "No measured figure is against the {name}.", name=name)


@rule(
    ("api-1560-2013", "GL-4 and GL-5"),
    ("trade-practice", "dual labels"),
    ("sae-j2360-202101", "copper strip, from memory"),
)
def dual_label_counts_as_gl_5(*, label_family: FamilyRow | None, claimed: Sequence[FamilyRow]) -> RuleOutcome:
    """A label that claims GL-4 and GL-5 at once is counted as GL-5, one that claims MT-1 beside GL-5 as either.

    Because both speak of gear teeth, and the additives of the higher level are in it whatever else is printed. MT-1, as
    SAE J2360, asks for a lighter copper strip than GL-5.
    """
    if label_family is None or not (label_family.dual_label or len(claimed) > 1):
        return not_concerned("one-category", "The label claims no two categories.")
    if any(row.id == "mt-1" for row in claimed):
        text = "It counts as {family} beside rings and as MT-1 without; MT-1 keeps copper lighter."
        return supports("mt-1-beside", text, family=claimed[0].label)
    text = "The label claims two categories at once: count it as the higher one until a data sheet says more."
    return cautions("two-categories", text)


@rule(("sae-j306-201902", "scope"), ("sae-j300-202405", "scope"))
def gear_and_engine_grades_are_different_scales(
    *,
    grade: GradeName | None,
    grade_text: str | None,
    iso_vg: str | None,
    is_class_grade: bool,
    label_family: FamilyRow | None,
    base: KnowledgeBase,
) -> RuleOutcome:
    """Numbers of the gear-oil scale and of the engine-oil scale are not comparable.

    Because they are two tables: an engine-oil 40 is about as thick as a gear-oil 85 or 90.
    """
    if grade_text is None or (grade is None and is_class_grade):
        return not_concerned("no-grade", "No grade number on the label.")
    if iso_vg:
        text = "ISO VG {iso_vg} is an industrial grade: compare KV100, not the number."
        return cautions("industrial", text, iso_vg=iso_vg, severity="note")
    if grade is None:
        text = "The grade on the label is not one of SAE J306 or SAE J300: ask for the viscosities."
        return cautions("no-scale", text, severity="note")
    scales = {
        row.scale for row in base.lubricant_rows.values() if label_family is None or row.family == label_family.id
    }
    if label_family is None or grade.scale in scales:
        return supports("its-scale", "The grade is of the {scale}.", scale=SCALE_NAMES[grade.scale])
    return cautions(
        "other-scale",
        "{grade_text} is a grade of the {scale}, which is not the one {family} is sold by: do not "
        "compare the numbers, compare KV100.",
        grade_text=grade_text,
        scale=SCALE_NAMES[grade.scale],
        family=label_family.label,
    )


@rule(("trade-practice", "limited-slip fluid in synchronized boxes"))
def limited_slip_must_be_said_alike(*, label_family: FamilyRow | None, jug: Jug) -> RuleOutcome:
    """Label and data sheet must say the same about a limited-slip friction modifier.

    Because it is what makes sound rings grind; where they disagree, the data sheet counts until the seller answers.
    """
    if label_family is None or jug.limited_slip is None:
        return not_concerned("nothing-to-compare", "Label and sheet cannot disagree about a limited-slip modifier.")
    if jug.limited_slip and not label_family.limited_slip:
        text = "The label says {family}, and a limited-slip friction modifier is in it too."
        return cautions("modifier-added", text, family=label_family.label)
    if label_family.limited_slip and not jug.limited_slip:
        text = "The label says {family}, but the sheet denies the modifier: ask the seller."
        return cautions("modifier-denied", text, family=label_family.label)
    return supports("alike", "Label and sheet say the same about a limited-slip modifier.")


LABEL_RULES: tuple[Rule, ...] = (
    label_grade_is_the_grade_of_the_sheet,
    label_engine_grade_is_the_grade_of_the_sheet,
    w_claim_wants_a_measured_cold_figure,
    cold_figure_must_bear_out_the_w_claim,
    cold_figures_must_agree,
    viscosity_index_is_one_such_oils_have,
    sheared_oil_must_keep_its_grade,
    copper_strip_needs_heat_and_hours,
    dual_label_counts_as_gl_5,
    gear_and_engine_grades_are_different_scales,
    limited_slip_must_be_said_alike,
    figures_must_describe_an_oil,
)

# What warns of a label or a sheet without its being false: how to count it, and a strip that proves nothing.
NO_CONTRADICTION = frozenset({copper_strip_needs_heat_and_hours.id, dual_label_counts_as_gl_5.id})

# Where a question gives what the rules read.
POINTERS: Mapping[str, tuple[str, ...]] = {
    "label_family": ("/label/family",),
    "claimed": ("/label/family", "/label/also"),
    "grade_text": ("/label/grade",),
    "grade": ("/label/grade",),
    "kv100_mm2_s": ("/kv100_mm2_s",),
    "kv100_sheared_mm2_s": ("/kv100_sheared_mm2_s",),
    "cold": ("/t150_c", "/brookfield"),
    "fresh_grades": ("/kv100_mm2_s",),
    "fresh_row": ("/kv100_mm2_s",),
    "viscosity_index": ("/kv40_mm2_s", "/kv100_mm2_s"),
    "density15_kg_m3": ("/density15_kg_m3",),
    "copper_strip_proves": ("/copper_strip",),
}


READ = frozenset(name for item in LABEL_RULES for name in item.parameters)
ABOUT = {
    item: tuple(dict.fromkeys(pointer for name in item.reads for pointer in POINTERS.get(name, ())))
    for item in LABEL_RULES
}


def label_findings(sheet: Sheet) -> Iterator[Finding]:
    """What the rules find of a label and its data sheet; one that is not concerned finds nothing."""
    read = {name: getattr(sheet, name) for name in READ}
    for item in LABEL_RULES:
        outcome = item.judge(**{name: read[name] for name in item.parameters})
        if outcome.is_concerned:
            yield item.finding(outcome, ABOUT[item])
