"""Rules about a data sheet by itself: whether its figures can be those of one oil, and what they prove."""

from knowledge.base import KnowledgeBase
from knowledge.fluids.data_sheet import ColdFigures
from knowledge.fluids.grades import GradeName
from knowledge.loading.fluid_rows import FamilyRow
from knowledge.loading.scales import J306Row
from knowledge.parts.jug import Jug
from knowledge.physics.density import HEAVIEST_KG_M3, LIGHTEST_KG_M3
from knowledge.rule import RuleOutcome, cautions, no_data, not_concerned, rule, supports
from knowledge.text import listed, plain


@rule(("astm-d2983-22", "measured points"))
def cold_figures_must_agree(*, cold: ColdFigures) -> RuleOutcome:
    """The cold figures of one data sheet must agree with each other, and one taken between two points is marked.

    Because an oil never thins as it cools; figures that say so belong to different oils or were mistyped.
    """
    if not cold.is_measured and not cold.contradictions:
        return not_concerned("none-given", "No cold figures given.")
    if cold.contradictions:
        text = "The cold figures cannot all be right: {contradictions}."
        return cautions("contradict", text, contradictions=listed(cold.contradictions, "and"))
    if cold.is_interpolated:
        text = (
            "The limit of {limit_c} °C lies between two measured points and was not measured itself: no W grade rests "
            "on it."
        )
        return cautions("between-two-points", text, limit_c=f"{cold.limit_c:.3g}", severity="note")
    return supports("agree", "The cold figures agree.")


@rule(("astm-d2270-10", "viscosity index"), ("trade-practice", "viscosity index of the class"))
def viscosity_index_is_one_such_oils_have(
    *, viscosity_index: float | None, label_family: FamilyRow | None, base: KnowledgeBase
) -> RuleOutcome:
    """The viscosity index must be one that oils of that kind have.

    Because it follows from both viscosities: one far outside of the usual range shows that a figure was mistyped,
    or that two figures come from two oils. The ranges are common practice and no standard.
    """
    if viscosity_index is None:
        return not_concerned("none-known", "No viscosity index to compare.")
    oils = [oil for oil in base.lubricants if label_family is None or oil.family.id == label_family.id]
    low, high = min(oil.viscosity_index_min for oil in oils), max(oil.viscosity_index_max for oil in oils)
    kind = label_family.label if label_family else "gear oil"
    if low <= round(viscosity_index) <= high:
        text = "The viscosity index is one that {kind} usually has: {low} to {high}."
        return supports("usual", text, kind=kind, low=plain(low), high=plain(high))
    return cautions(
        "unusual",
        "The viscosity index comes to {viscosity_index}; {kind} usually has {low} to {high}. Check both "
        "viscosities and their temperatures.",
        viscosity_index=f"{viscosity_index:.0f}",
        kind=kind,
        low=plain(low),
        high=plain(high),
    )


@rule(("sae-j306-201902", "minimum after CEC L-45-A-99, Method C, 20 h"))
def sheared_oil_must_keep_its_grade(
    *,
    grade: GradeName | None,
    kv100_mm2_s: float | None,
    kv100_sheared_mm2_s: float | None,
    fresh_row: J306Row | None,
) -> RuleOutcome:
    """After the shear test an oil must still reach the least KV100 of its grade.

    Because gears cut the polymer that thickens a multigrade, and what counts is the oil after some use.
    """
    if kv100_sheared_mm2_s is None:
        return not_concerned("none-given", "No sheared viscosity given.")
    if kv100_mm2_s is not None and kv100_sheared_mm2_s > kv100_mm2_s:
        return cautions(
            "above-the-fresh", "The sheared KV100 is above the fresh one: check whether the two were mixed up."
        )
    row = fresh_row or (grade.summer if grade and grade.scale == "sae-j306" else None)
    if row is None:
        return no_data("no-grade", "No grade to hold the sheared KV100 against.")
    if kv100_sheared_mm2_s < row.kv100_min_mm2_s:
        return cautions(
            "falls-below",
            "Sheared it falls to {kv100_sheared_mm2_s} mm²/s, below the {kv100_min_mm2_s} that grade "
            "{grade} must keep: expect it to thin in use.",
            kv100_sheared_mm2_s=plain(kv100_sheared_mm2_s),
            kv100_min_mm2_s=plain(row.kv100_min_mm2_s),
            grade=row.grade,
        )
    text = "Sheared it still reaches the {kv100_min_mm2_s} mm²/s of grade {grade}."
    return supports("keeps-it", text, kv100_min_mm2_s=plain(row.kv100_min_mm2_s), grade=row.grade)


@rule(("astm-d130-19", "rating with temperature and time"), ("astm-d7450-19", "copper strip test: 3 h at 121 °C"))
def copper_strip_needs_heat_and_hours(*, jug: Jug, copper_strip_proves: bool, base: KnowledgeBase) -> RuleOutcome:
    """A copper strip rating says something only with the temperature and the hours of the test.

    Because tarnish grows with both: a strip that stays clean in a warm bath for an hour proves nothing of a hot sump.
    """
    strip = jug.copper_strip
    if strip is None:
        return not_concerned("none-given", "No copper strip rating given.")
    heat, hours = base.limit("copper-strip-temperature-from"), base.limit("copper-strip-hours-from")
    rating = f"Copper strip {strip.rating}"
    if strip.temperature_c is None:
        return cautions(
            "without-temperature", "{rating} without its temperature proves nothing: ask for it.", rating=rating
        )
    found, wanted = base.copper_strip[strip.rating], base.copper_strip_wanted
    at = f"{plain(strip.temperature_c)} °C"
    if base.copper_rank(found.rating) > base.copper_rank(wanted):
        text = "{rating} ({designation}) at {at} is worse than {wanted}, the worst that copper bears."
        return cautions("too-dark", text, rating=rating, designation=found.designation, at=at, wanted=wanted)
    if not copper_strip_proves:
        milder = f"milder than {plain(hours)} hours at {plain(heat)} °C"
        return cautions("too-mild", "{rating} was run {milder}: it proves nothing here.", rating=rating, milder=milder)
    if strip.hours is None:
        text = "{rating} at {at} counts as {hours} hours: ask whether it was."
        return cautions("hours-assumed", text, rating=rating, at=at, hours=plain(hours), severity="note")
    return supports("counts", "{rating} with its temperature and hours: it counts.", rating=rating)


@rule(("astm-d1250-04", "lubricating-oil group"), ("astm-d341-20", "range"), ("astm-d2270-10", "from 2 mm²/s"))
def figures_must_describe_an_oil(
    *, jug: Jug, density15_kg_m3: float | None, viscosity_index: float | None, base: KnowledgeBase
) -> RuleOutcome:
    """The figures must be ones that a lubricating oil can have and that can be computed with.

    Because density, viscosity index and the curve rest on methods that hold over stated ranges only.
    """
    if jug.density15_kg_m3 is not None and density15_kg_m3 is None:
        return cautions(
            "density-beyond",
            "A density of {density15_kg_m3} kg/m³ is none that a lubricating oil has ({lightest_kg_m3} to "
            "{heaviest_kg_m3}): the usual one is taken instead.",
            density15_kg_m3=plain(jug.density15_kg_m3),
            lightest_kg_m3=plain(LIGHTEST_KG_M3),
            heaviest_kg_m3=plain(HEAVIEST_KG_M3),
        )
    least = base.astm_d2270[0].kv100_min_mm2_s
    if jug.kv100_mm2_s is not None and jug.kv100_mm2_s < least:
        text = "KV100 is below {least_mm2_s} mm²/s, where no viscosity index is defined: no gearbox oil is so thin."
        return cautions("too-thin", text, least_mm2_s=plain(least))
    if jug.kv40_mm2_s is None and jug.kv100_mm2_s is None and jug.density15_kg_m3 is None:
        return not_concerned("none-given", "No viscosity or density given.")
    return supports("within-range", "The figures are within the ranges of the methods used.")
