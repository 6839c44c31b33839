"""Rules about the friction material: which families of fluid a facing takes."""

from collections.abc import Iterable

from knowledge.base import KnowledgeBase
from knowledge.box.axes import NO_RINGS
from knowledge.loading.schema import FacingFamilyRow, FamilyRow
from knowledge.lubricant import Lubricant
from knowledge.rule import RuleOutcome, cautions, excludes, not_concerned, rule, supports
from knowledge.text import plain


def least_fit(facings: Iterable[str], family: FamilyRow, base: KnowledgeBase) -> FacingFamilyRow:
    """The row of the facing that this family serves worst."""
    worst = max(facings, key=lambda facing: base.fitness[facing, family.id])
    return base.facing_families[worst, family.id]


def _of_family(
    facings: tuple[str, ...], family: FamilyRow, base: KnowledgeBase, is_light_duty: bool, is_named: bool
) -> RuleOutcome:
    row = least_fit(facings, family, base)
    if row.fitness == "first":
        return supports(row.reason)
    if row.fitness == "refused":
        return excludes(row.reason)
    if row.fitness == "light-duty":
        if is_named:
            return cautions(f"{row.reason} The service data names it; keep to its change interval.")
        if is_light_duty:
            return cautions(f"{row.reason} Light duty only.")
        return excludes(f"{row.reason} This duty is not light: only where the service data names it.")
    if is_named:
        return supports(f"{row.reason} The service data names this class.")
    if row.fitness == "second":
        return cautions(f"{row.reason} Second choice unless the service data names it.")
    return excludes(f"{row.reason} Only where the service data names it.")


def _lined(facings: tuple[str, ...], base: KnowledgeBase) -> tuple[str, ...]:
    return tuple(facing for facing in facings if base.facings[facing].kind == "lined")


@rule(
    ("fillwright-judgement", "limit on KV100 over a lining"),
    ("trade-practice", "lined rings and gear oil"),
    yields_to_service_data=True,
    settled_by="kv100_mm2_s",
)
def lined_rings_burn_under_thick_gear_oil(
    *, facings: tuple[str, ...], oil: Lubricant, base: KnowledgeBase
) -> RuleOutcome:
    """Thick or full extreme-pressure gear oil glazes and burns a paper or carbon lining.

    Because a lining grips only once its pores are filled and the rest of the oil has left; thick oil stays
    between lining and cone, and full extreme-pressure additives cook into the pores as the surface heats.
    """
    lined = _lined(facings, base)
    if not lined:
        return not_concerned("There is no lining to burn.")
    words = " and ".join(lined)
    if oil.family.is_gear_oil and oil.family.protection == "full":
        return excludes(f"{oil.family.label} additives glaze and burn a {words} lining.", severity="danger")
    limit = base.limit("lining-kv100-below")
    margin = limit / oil.kv100_max_mm2_s
    if oil.kv100_min_mm2_s >= limit:
        or_more = " or more" if oil.kv100_max_mm2_s > oil.kv100_min_mm2_s else ""
        return excludes(
            f"KV100 of {plain(oil.kv100_min_mm2_s)} mm²/s{or_more} is too thick: it does not leave the {words} lining, "
            f"which glazes and burns. The limit here is {plain(limit)}.",
            severity="danger",
            margin=margin,
            is_of_grade=True,
        )
    if oil.kv100_max_mm2_s > limit:
        text = f"Ask the data sheet for a KV100 below {plain(limit)} mm²/s: thicker oil burns a {words} lining."
        return cautions(text, margin=margin)
    text = f"Thin enough to leave the {words} lining, with no full extreme-pressure additive."
    return supports(text, margin=margin)


@rule(
    ("trade-practice", "lined rings and dedicated fluid"),
    ("sae-2008-01-1710", "abstract"),
    yields_to_service_data=True,
    settled_by="label/family",
)
def lined_rings_take_dedicated_fluid(
    *, facings: tuple[str, ...], is_light_duty: bool, is_named: bool, family: FamilyRow, base: KnowledgeBase
) -> RuleOutcome:
    """Paper and carbon linings want a thin dedicated transmission fluid.

    Because the friction of a lining comes from what the fluid leaves in its pores, fluid and lining are
    matched to one another; a fluid that was not made for it may slip or wear it.
    """
    lined = _lined(facings, base)
    return _of_family(lined, family, base, is_light_duty, is_named) if lined else not_concerned("No lined rings.")


@rule(
    ("trade-practice", "bronze and molybdenum rings"),
    ("sae-2004-01-2022", "abstract"),
    yields_to_service_data=True,
    settled_by="label/family",
)
def solid_and_sprayed_rings_take_gl_4_or_dedicated_fluid(
    *, facings: tuple[str, ...], is_light_duty: bool, is_named: bool, family: FamilyRow, base: KnowledgeBase
) -> RuleOutcome:
    """Bronze and molybdenum rings take a GL-4 gear oil or a dedicated manual-transmission fluid.

    Because their crests cut through the film and then need a moderate additive that lets metal grip metal;
    thinner families serve in light duty or where the service data names them.
    """
    metal = tuple(facing for facing in facings if base.facings[facing].kind == "solid-or-sprayed")
    return (
        _of_family(metal, family, base, is_light_duty, is_named)
        if metal
        else not_concerned("No bronze or molybdenum rings.")
    )


@rule(
    ("sae-2008-01-1710", "abstract"),
    ("trade-practice", "sintered rings"),
    yields_to_service_data=True,
    settled_by="label/family",
)
def sintered_rings_answer_fluids_their_own_way(
    *, facings: tuple[str, ...], is_light_duty: bool, is_named: bool, family: FamilyRow, base: KnowledgeBase
) -> RuleOutcome:
    """Sintered rings take a dedicated fluid, or GL-4 where named: they do not answer a fluid as bronze does.

    Because sintered layers are copper alloys too, yet the same additives give another friction on them.
    """
    sintered = tuple(facing for facing in facings if base.facings[facing].kind == "sintered")
    return (
        _of_family(sintered, family, base, is_light_duty, is_named) if sintered else not_concerned("No sintered rings.")
    )


@rule(
    ("api-1560-2013", "manual transmission categories"),
    ("trade-practice", "boxes without rings"),
    yields_to_service_data=True,
    settled_by="label/family",
)
def unsynchronized_boxes_take_gear_oil(
    *, facings: tuple[str, ...], is_light_duty: bool, is_named: bool, family: FamilyRow, base: KnowledgeBase
) -> RuleOutcome:
    """A box without synchronizer rings is filled for its gears and bearings alone.

    Because no ring has to grip, friction does not count and the gear-oil categories mean what they say.
    """
    if facings:
        return not_concerned("This box has synchronizer rings; other rules judge them.")
    return _of_family((NO_RINGS,), family, base, is_light_duty, is_named)


@rule(
    ("trade-practice", "axle grades in synchronized boxes"),
    ("sae-j306-201902", "lower edge of grade 140"),
    sets_margin=True,
    settled_by="kv100_mm2_s",
)
def axle_grades_drag_on_the_rings(
    *, has_rings: bool, is_named: bool, oil: Lubricant, base: KnowledgeBase
) -> RuleOutcome:
    """An axle grade, 140 or heavier, drags on the rings of a synchronized box.

    Because every shift has to speed up or slow down wheels that churn in it, hot as well as cold.
    """
    if not has_rings:
        return not_concerned("No rings that it could drag on.")
    margin = base.limit("ring-drag-kv100-from") / oil.kv100_max_mm2_s
    if oil.kv100_min_mm2_s < base.limit("ring-drag-kv100-from"):
        return supports("Not so thick that it drags on the rings.", margin=margin)
    if is_named:
        return supports("As thick as an axle oil, but the service data names it.")
    return cautions("As thick as an axle oil: it drags on the rings and makes every shift slower.", margin=margin)


@rule(("trade-practice", "mixed ring sets"), ("sae-2008-01-1710", "abstract"))
def mixed_sets_follow_the_most_demanding_ring(
    *, facings: tuple[str, ...], family: FamilyRow, base: KnowledgeBase
) -> RuleOutcome:
    """In a box with several kinds of ring, the ring that the fluid serves worst decides.

    Because one sump serves them all, and a fluid that ruins one ring ruins the box.
    """
    if len(facings) < 2:
        return not_concerned("All rings have one kind of facing." if facings else "No rings.")
    worst = least_fit(facings, family, base)
    kinds = " and ".join(facings)
    if worst.fitness == "first":
        return supports(f"Rings with {kinds} facings are all served well.")
    return cautions(f"Of the {kinds} rings, the {worst.facing} ones decide: {worst.reason}")
