"""Rules about the friction material: which families of fluid a facing takes."""

from collections.abc import Callable

import numpy as np

from knowledge.judging.box_columns import BoxColumns
from knowledge.judging.column_rule import Choice, Decision, column_rule, first_of, is_never
from knowledge.judging.spot import Spot
from knowledge.loading.facing_rows import FITNESS_FROM_BEST, NO_RINGS, FacingFamilyRow

FIRST, SECOND, LIGHT_DUTY, NAMED, REFUSED = range(len(FITNESS_FROM_BEST))


def least_fit(spot: Spot, kind: str) -> FacingFamilyRow:
    """The row of the facing of a kind that this family serves worst."""
    family = spot.lubricant.family.id
    facings = spot.x.of_kind(kind, spot.value("facings"))
    worst = max(facings, key=lambda facing: spot.base.fitness[facing, family])
    return spot.base.facing_families[worst, family]


def _of_kind(x: BoxColumns, kind: str, *special: Choice) -> Decision:
    """What the fitness of a family for the rings of a kind comes to, by duty and by what the service data names.

    The special cases of a kind of ring come before what the fitness says; they are of what nobody names.
    """
    has_kind, is_named, is_light = x.has_kind(kind), x.is_named, x.is_light_duty
    if is_never(has_kind):
        return first_of(otherwise="no-such-rings")
    fitness = x.fitness_for(kind)
    return first_of(
        (~has_kind, "no-such-rings"),
        *((condition & ~is_named, outcome) for condition, outcome in special),
        (fitness == FIRST, "first"),
        (fitness == REFUSED, "refused"),
        (is_named, "named"),
        (fitness == SECOND, "second"),
        ((fitness == LIGHT_DUTY) & is_light, "light-duty"),
        (fitness == LIGHT_DUTY, "heavier-duty"),
        otherwise="only-named",
    )


def _of_metal(x: BoxColumns, kind: str) -> Decision:
    """The same; what axle oil does to yellow metal and to grip is judged where its additives are."""
    oils = x.lubricants
    is_axle_oil = oils.is_plain_axle_oil
    return _of_kind(x, kind, (is_axle_oil & oils.copper_strip_is_good, "axle-oil-proven"), (is_axle_oil, "axle-oil"))


def _reason(kind: str) -> dict[str, Callable[[Spot], str]]:
    return {"reason": lambda spot: least_fit(spot, kind).reason}


def _strip_wanted(spot: Spot) -> str:
    return spot.base.copper_strip_wanted


def _lining(spot: Spot) -> str:
    return " and ".join(spot.x.of_kind("lined", spot.value("facings")))


@column_rule(
    ("fillwright-judgement", "limit on KV100 over a lining"),
    ("trade-practice", "lined rings and gear oil"),
    reads=("facings",),
    uses_service_data=True,
    settled_by="kv100_mm2_s",
    speaks_of_grade=True,
    words={"lining": _lining},
    limits=("lining-kv100-below", "lining-gear-oil-kv100-below"),
)
def lined_rings_burn_under_thick_gear_oil(x: BoxColumns) -> Decision:
    """Thick or full extreme-pressure gear oil glazes and burns a paper or carbon lining.

    Because a lining grips only once its pores are filled and the rest of the oil has left; thick oil stays
    between lining and cone, and full extreme-pressure additives cook into the pores as the surface heats.
    """
    oil, limit, has_lining = x.lubricants, x.limit("lining-kv100-below"), x.has_kind("lined")
    if is_never(has_lining):
        return first_of(otherwise="no-lining")
    burns = oil.is_gear_oil & oil.has_full_ep
    return first_of(
        (~has_lining, "no-lining"),
        (burns, "additives-burn"),
        (x.is_bare_grade_named & oil.is_gear_oil & (oil.kv100_max_mm2_s > limit), "thick-and-bare"),
        (x.is_grade_named & (oil.kv100_max_mm2_s > limit), "thick-but-named"),
        (oil.kv100_min_mm2_s >= limit, "too-thick"),
        (oil.kv100_middle_mm2_s >= limit, "mostly-too-thick"),
        (oil.is_gear_oil & (oil.kv100_middle_mm2_s >= x.limit("lining-gear-oil-kv100-below")), "thick-for-a-lining"),
        (oil.kv100_max_mm2_s > limit, "thick-at-its-edge"),
        otherwise="thin-enough",
        margin=np.where(has_lining & ~burns, limit / oil.kv100_max_mm2_s, np.nan),
    )


@column_rule(
    ("trade-practice", "lined rings and dedicated fluid"),
    ("sae-2008-01-1710", "abstract"),
    reads=("facings", "is_light_duty"),
    uses_service_data=True,
    settled_by="label/family",
    words=_reason("lined"),
)
def lined_rings_take_dedicated_fluid(x: BoxColumns) -> Decision:
    """Paper and carbon linings want a thin dedicated transmission fluid.

    Because the friction of a lining comes from what the fluid leaves in its pores, fluid and lining are
    matched to one another; a fluid that was not made for it may slip or wear it.
    """
    is_thin = (x.fitness_for("lined") == SECOND) & x.lubricants.has_light_protection
    return _of_kind(x, "lined", (is_thin, "as-before"))


@column_rule(
    ("trade-practice", "bronze and molybdenum rings"),
    ("sae-2004-01-2022", "abstract"),
    reads=("facings", "is_light_duty"),
    uses_service_data=True,
    settled_by="label/family",
    words={**_reason("solid-or-sprayed"), "strip_wanted": _strip_wanted},
)
def solid_and_sprayed_rings_take_gl_4_or_dedicated_fluid(x: BoxColumns) -> Decision:
    """Bronze and molybdenum rings take a GL-4 gear oil or a dedicated manual-transmission fluid.

    Because their crests cut through the film and then need a moderate additive that lets metal grip metal;
    thinner families do in light duty or where the service data names them.
    """
    return _of_metal(x, "solid-or-sprayed")


@column_rule(
    ("sae-2008-01-1710", "abstract"),
    ("trade-practice", "sintered rings"),
    reads=("facings", "is_light_duty"),
    uses_service_data=True,
    settled_by="label/family",
    words={**_reason("sintered"), "strip_wanted": _strip_wanted},
)
def sintered_rings_answer_fluids_their_own_way(x: BoxColumns) -> Decision:
    """Sintered rings take a dedicated fluid, or GL-4 where named: they do not answer a fluid as bronze does.

    Because sintered layers are copper alloys too, yet the same additives give another friction on them.
    """
    return _of_metal(x, "sintered")


@column_rule(
    ("api-1560-2013", "manual transmission categories"),
    ("trade-practice", "boxes without rings"),
    reads=("facings", "is_light_duty"),
    uses_service_data=True,
    settled_by="label/family",
    words=_reason(NO_RINGS),
)
def unsynchronized_boxes_take_gear_oil(x: BoxColumns) -> Decision:
    """A box without synchronizer rings is filled for its gears and bearings alone.

    Because no ring has to grip, friction does not count and the gear-oil categories mean what they say.
    """
    return _of_kind(x, NO_RINGS)


@column_rule(
    ("trade-practice", "axle grades in synchronized boxes"),
    ("sae-j306-201902", "lower edge of grade 140"),
    reads=("facings",),
    uses_service_data=True,
    settled_by="kv100_mm2_s",
    limits=("ring-drag-kv100-from",),
)
def axle_grades_drag_on_the_rings(x: BoxColumns) -> Decision:
    """An axle grade, 140 or heavier, drags on the rings of a synchronized box.

    Because every shift has to speed up or slow down wheels that churn in it, hot as well as cold.
    """
    limit, oil = x.limit("ring-drag-kv100-from"), x.lubricants
    is_thin = oil.kv100_middle_mm2_s < limit
    return first_of(
        (~x.has_rings, "no-rings"),
        (is_thin, "not-so-thick"),
        (x.is_named, "named"),
        otherwise="drags",
        margin=np.where(x.has_rings & (is_thin | ~x.is_named), limit / oil.kv100_max_mm2_s, np.nan),
    )


@column_rule(
    ("trade-practice", "mixed ring sets"),
    ("sae-2008-01-1710", "abstract"),
    reads=("facings",),
    words={
        **_reason("any"),
        "facings": lambda spot: " and ".join(spot.value("facings")),
        "worst_facing": lambda spot: least_fit(spot, "any").facing,
    },
)
def mixed_sets_follow_the_most_demanding_ring(x: BoxColumns) -> Decision:
    """In a box with several kinds of ring, the ring that the fluid serves worst decides.

    Because one sump serves them all, and a fluid that ruins one ring ruins the box.
    """
    if is_never(x.has_mixed_rings):
        return first_of((~x.has_rings, "no-rings"), otherwise="one-facing")
    return first_of(
        (~x.has_rings, "no-rings"),
        (~x.has_mixed_rings, "one-facing"),
        (x.fitness_for("any") == FIRST, "all-suited"),
        otherwise="one-decides",
    )
