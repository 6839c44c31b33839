"""Rules about additives: what a family carries and what that does to rings and copper alloys."""

from knowledge.judging.box_columns import BoxColumns
from knowledge.judging.column_rule import Decision, column_rule, first_of
from knowledge.judging.columns import NO_STRIP, STRIP_DARKER, STRIP_GOOD, STRIP_UNPROVEN
from knowledge.judging.spot import Spot
from knowledge.parts.jug import CopperStrip
from knowledge.text import plain


def _copper(spot: Spot) -> str:
    return " and ".join(spot.value("copper_parts"))


def _strip_proof(spot: Spot) -> str:
    oil = spot.lubricant
    strip = _strip(oil.copper_strip)
    result = f"opper strip {strip.rating} at {_plain(strip.temperature_c)} °C"
    if oil.measured_copper_strip is None:
        return f"{oil.family.label} asks for c{result}, as we recall it"
    return f"C{result}"


def _strip_is_worse(spot: Spot) -> str:
    row = spot.base.copper_strip[_strip(spot.lubricant.measured_copper_strip).rating]
    wanted = spot.base.copper_strip_wanted
    return f"Its own copper strip is {row.rating} ({row.designation}), worse than the {wanted} wanted"


def _strip_test(spot: Spot) -> str:
    strip = _strip(spot.lubricant.measured_copper_strip)
    hours = f"{plain(strip.hours)} hours at " if strip.hours else ""
    return f"{hours}{_plain(strip.temperature_c)} °C"


def _strip(strip: CopperStrip | None) -> CopperStrip:
    assert strip is not None, "asked only of a lubricant that has one"
    return strip


def _plain(value: float | None) -> str:
    return plain(value or 0.0)


@column_rule(
    ("trade-practice", "limited-slip fluid in synchronized boxes"),
    ("sae-2004-01-2022", "abstract: friction modifier is the most active component"),
    reads=("facings",),
    settled_by="limited_slip",
)
def limited_slip_modifier_lowers_ring_friction(x: BoxColumns) -> Decision:
    """A limited-slip friction modifier makes a sound synchronizer ring slip and grind, and a lining glaze.

    Because it is made to lower friction at low sliding speed, just where a ring has to hold.
    """
    return first_of(
        (~x.lubricants.is_limited_slip, "no-modifier"),
        (~x.has_rings, "no-rings"),
        (x.has_kind("lined"), "slips-on-a-lining"),
        otherwise="slips",
    )


@column_rule(
    ("sae-j2360-202101", "scope: not for worm gears"),
    ("astm-d7450-19", "copper strip limit"),
    ("sae-2018-01-0656", "abstract: corrosion depends on temperature"),
    ("hunt-2016", "abstract"),
    reads=("copper_parts", "is_hot_for_copper", "final_drive"),
    settled_by="copper_strip",
    speaks_of_grade=True,
    words={
        "copper": _copper,
        "strip_proof": _strip_proof,
        "strip_wanted": lambda spot: spot.base.copper_strip_wanted,
    },
    limits=("copper-strip-temperature-from", "yellow-metal-hot-from"),
)
def full_ep_additives_attack_yellow_metal(x: BoxColumns) -> Decision:
    """Full extreme-pressure additives of GL-5 level attack copper alloys, the more the hotter the sump.

    Because their active sulfur reacts with copper; the category's own copper strip limit allows dark
    tarnish, so the label alone proves nothing. A light strip from a hot test is a better sign, and the category
    MT-1 asks for one. Hypoid gears leave no choice where no ring is at stake.
    """
    return first_of(
        (~x.lubricants.has_full_ep, "no-full-ep"),
        (~x.has_copper, "no-copper"),
        (x.lubricants.copper_strip_is_good & x.lubricants.is_mt_1, "category-is-mild"),
        (x.lubricants.copper_strip_is_good, "strip-is-good"),
        (x.has_final_drive("hypoid") & ~x.has_copper_rings, "hypoid-needs-it"),
        (x.is_hot_for_copper, "attacks-hot"),
        otherwise="attacks",
    )


@column_rule(
    ("astm-d130-19", "copper strip classifications"),
    ("fillwright-judgement", "ratings that speak for an oil"),
    reads=("copper_parts",),
    is_of_jug=True,
    speaks_of_grade=True,
    words={
        "copper": _copper,
        "strip": lambda spot: _strip(spot.lubricant.measured_copper_strip).rating,
        "strip_wanted": lambda spot: spot.base.copper_strip_wanted,
        "strip_is_worse": _strip_is_worse,
        "strip_test": _strip_test,
    },
)
def measured_copper_strip_speaks_for_the_jug(x: BoxColumns) -> Decision:
    """A jug whose own copper strip came out dark attacks copper alloys, whatever its label promises.

    Because the strip shows what this very oil does to copper: a darker class of tarnish than the one wanted refuses,
    a darker shade of the same class warns, and so does a dark strip of which heat or hours are not known. To oil with
    full extreme-pressure additives only a strip opens the box, so that one which is worse than wanted refuses, and any
    other is weighed where its additives are. A book that names the kind speaks of no jug that fails.
    """
    strip = x.lubricants.measured_strip
    return first_of(
        (strip == NO_STRIP, "no-strip"),
        (~x.has_copper, "no-copper"),
        (strip == STRIP_GOOD, "good"),
        (strip == STRIP_DARKER, "darker"),
        (strip == STRIP_UNPROVEN, "unproven"),
        otherwise="dark",
    )


@column_rule(("api-1560-2013", "GL-4 and GL-5"), ("trade-practice", "dual labels"), settled_by="label/family")
def dual_label_speaks_of_gears_only(x: BoxColumns) -> Decision:
    """A label that claims both GL-4 and GL-5 speaks of gears only and is treated as GL-5.

    Because both categories rate the scoring of gear teeth; neither says anything of rings or copper.
    """
    return first_of((~x.lubricants.is_dual_label, "one-category"), otherwise="dual")


@column_rule(
    ("api-1560-2013", "MT-1"),
    ("astm-d5760", "scope"),
    reads=("facings",),
    settled_by="label/family",
)
def mt_1_is_for_boxes_without_rings(x: BoxColumns) -> Decision:
    """MT-1 is by its definition for heavy boxes without synchronizer rings.

    Because its tests look at heat, wear and seals, and no ring was ever part of them.
    """
    return first_of((~x.lubricants.is_mt_1, "not-mt-1"), (x.has_rings, "rings"), otherwise="no-rings")


@column_rule(
    ("api-1560-2013", "GL-1"),
    reads=("facings", "is_light_duty"),
    uses_service_data=True,
    settled_by="label/family",
)
def gl_1_carries_no_protection(x: BoxColumns) -> Decision:
    """GL-1 oil carries neither extreme-pressure additive nor friction modifier: for boxes that name it.

    Because its definition is plain mineral oil for loads so light that this is enough, as in a crash box.
    """
    return first_of(
        (~x.lubricants.has_no_protection, "protected"),
        (x.is_named & (x.is_light_duty | ~x.has_rings), "named"),
        (x.is_named, "named-for-hard-work"),
        (x.is_light_duty & ~x.has_rings, "light-and-no-rings"),
        otherwise="unprotected",
    )


@column_rule(
    ("trade-practice", "engine oil in gearboxes"),
    ("api-1560-2013", "MT-1: do not mix with engine oil"),
    settled_by="label/family",
)
def engine_oil_shears_down_and_carries_detergent(x: BoxColumns) -> Decision:
    """Engine oil thins as gears shear its polymer, and its detergent is not made for gears: it is changed early.

    Because the polymer that makes it a multigrade is cut between gear teeth, and detergents compete with
    the additives that protect them.
    """
    return first_of((~x.lubricants.is_engine_oil, "not-engine-oil"), otherwise="shears")
