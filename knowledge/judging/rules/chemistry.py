"""Rules about additives: what a family carries and what that does to rings and copper alloys."""

from knowledge.base import KnowledgeBase
from knowledge.loading.schema import FamilyRow
from knowledge.lubricant import Lubricant
from knowledge.rule import RuleOutcome, cautions, excludes, not_concerned, rule, supports
from knowledge.text import plain


@rule(
    ("trade-practice", "limited-slip fluid in synchronized boxes"),
    ("sae-2004-01-2022", "abstract: friction modifier is the most active component"),
    yields_to_service_data=True,
    settled_by="limited_slip",
)
def limited_slip_modifier_lowers_ring_friction(*, has_rings: bool, oil: Lubricant) -> RuleOutcome:
    """A limited-slip friction modifier makes a sound synchronizer ring slip and grind.

    Because it is made to lower friction at low sliding speed, just where a ring has to hold.
    """
    if not oil.limited_slip:
        return not_concerned("No limited-slip friction modifier.")
    if not has_rings:
        return not_concerned("There is no ring for the friction modifier to make slip.")
    return excludes("Its limited-slip friction modifier makes sound rings slip and grind.", severity="danger")


@rule(
    ("sae-j2360-202101", "scope: not for worm gears"),
    ("astm-d7450-19", "copper strip limit"),
    ("sae-2018-01-0656", "abstract: corrosion depends on temperature"),
    ("hunt-2016", "abstract"),
    yields_to_service_data=True,
    settled_by="copper_strip",
)
def full_ep_additives_attack_yellow_metal(
    *, copper_parts: tuple[str, ...], is_hot_for_copper: bool, oil: Lubricant, base: KnowledgeBase
) -> RuleOutcome:
    """Full extreme-pressure additives of GL-5 level attack copper alloys, the more the hotter the sump.

    Because their active sulfur reacts with copper; the category's own copper strip limit allows dark
    tarnish, so the label alone proves nothing. A light strip from a hot test is a better sign.
    """
    if oil.family.protection != "full":
        return not_concerned("No full extreme-pressure additive to attack copper alloys.")
    if not copper_parts:
        return not_concerned("No copper alloy in this sump for it to attack.")
    parts = " and ".join(copper_parts)
    strip = oil.copper_strip
    if (
        strip is not None
        and base.copper_rank(strip.rating) <= base.copper_rank(base.copper_strip_wanted)
        and (strip.temperature_c or 0) >= base.limit("copper-strip-temperature-from")
    ):
        proof = f"Copper strip {strip.rating} at {plain(strip.temperature_c)} °C is a good sign"
        if oil.measured_copper_strip is None:
            proof = (
                f"{oil.family.label} asks for copper strip {strip.rating} at {plain(strip.temperature_c)} °C, as we "
                "recall it: ask this data sheet for its own, a good sign"
            )
        return cautions(
            f"{proof} for the {parts}; it does not prove long life, so check the oil for copper at the next change."
        )
    hot_from = base.limit("yellow-metal-hot-from")
    heat = f" A sump that reaches {plain(hot_from)} °C or more makes it faster." if is_hot_for_copper else ""
    return excludes(
        f"{oil.family.label} additives attack the {parts}.{heat}",
        severity="danger" if heat else "warning",
        unless=f"Only a data sheet with copper strip {base.copper_strip_wanted} or better at "
        f"{plain(base.limit('copper-strip-temperature-from'))} °C or service data can change that.",
    )


@rule(
    ("astm-d130-19", "copper strip classifications"),
    ("fillwright-judgement", "ratings that speak for an oil"),
    yields_to_service_data=True,
)
def measured_copper_strip_speaks_for_the_jug(
    *, copper_parts: tuple[str, ...], oil: Lubricant, base: KnowledgeBase
) -> RuleOutcome:
    """A jug whose own copper strip came out dark attacks copper alloys, whatever its label promises.

    Because the strip shows what this very oil does to copper: a darker class of tarnish than the one wanted refuses,
    a darker shade of the same class warns, and so does a dark strip of which heat or hours are not told. The strip
    of full extreme-pressure oil is weighed where its additives are.
    """
    strip = oil.measured_copper_strip
    if strip is None or oil.family.protection == "full":
        return not_concerned("No copper strip of a milder oil was measured.")
    if not copper_parts:
        return not_concerned("No copper alloy in this sump for it to attack.")
    parts, wanted = " and ".join(copper_parts), base.copper_strip[base.copper_strip_wanted]
    found = base.copper_strip[strip.rating]
    if base.copper_rank(found.rating) <= base.copper_rank(wanted.rating):
        return supports(f"Its own copper strip is {found.rating}; {wanted.rating} or better is wanted.")
    said = f"Its own copper strip is {found.rating} ({found.designation}), worse than the {wanted.rating} wanted"
    if found.designation == wanted.designation:
        return cautions(f"{said} beside the {parts}.")
    if strip.temperature_c is None or strip.hours is None:
        return cautions(f"{said} beside the {parts}: ask at which temperature and for how many hours it was run.")
    return excludes(
        f"{said}, after {plain(strip.hours)} hours at {plain(strip.temperature_c)} °C: it attacks the {parts}."
    )


@rule(("api-1560-2013", "GL-4 and GL-5"), ("trade-practice", "dual labels"), settled_by="label/family")
def dual_label_speaks_of_gears_only(*, family: FamilyRow) -> RuleOutcome:
    """A label that claims both GL-4 and GL-5 speaks of gears only and is treated as GL-5.

    Because both categories rate the scoring of gear teeth; neither says anything of rings or copper.
    """
    if not family.dual_label:
        return not_concerned("The label claims one category.")
    return cautions(
        "A label that claims GL-4 and GL-5 at once speaks of gear teeth only: it is treated as GL-5 until its data "
        "sheet says otherwise."
    )


@rule(("api-1560-2013", "MT-1"), ("astm-d5760", "scope"), yields_to_service_data=True, settled_by="label/family")
def mt_1_is_for_boxes_without_rings(*, has_rings: bool, family: FamilyRow) -> RuleOutcome:
    """MT-1 is by its definition for heavy boxes without synchronizer rings.

    Because its tests look at heat, wear and seals, and no ring was ever part of them.
    """
    if family.id != "mt-1":
        return not_concerned("Not an MT-1 oil.")
    if has_rings:
        return excludes("MT-1 is defined for boxes without synchronizer rings.")
    return supports("MT-1 is made for heavy boxes without rings, as this one.")


@rule(("api-1560-2013", "GL-1"), yields_to_service_data=True, settled_by="label/family")
def gl_1_carries_no_protection(*, is_light_duty: bool, is_named: bool, family: FamilyRow) -> RuleOutcome:
    """GL-1 oil carries neither extreme-pressure additive nor friction modifier: light boxes that name it only.

    Because its definition is plain mineral oil for loads so light that this is enough.
    """
    if family.protection != "none":
        return not_concerned("Carries protection for gear teeth.")
    if is_named:
        if is_light_duty:
            return supports("The service data names GL-1 and the duty is light.")
        return cautions("The service data names GL-1, but it carries no protection for this duty.")
    return excludes("GL-1 is plain oil without gear protection: only for light boxes whose service data names it.")


@rule(
    ("trade-practice", "engine oil in gearboxes"),
    ("api-1560-2013", "MT-1: do not mix with engine oil"),
    settled_by="label/family",
)
def engine_oil_shears_down_and_carries_detergent(*, is_named: bool, family: FamilyRow) -> RuleOutcome:
    """Engine oil thins as gears shear its polymer, and its detergent is not made for gears; allowed where named.

    Because the polymer that makes it a multigrade is cut between gear teeth, and detergents compete with
    the additives that protect them.
    """
    if family.id != "engine-oil":
        return not_concerned("Not an engine oil.")
    if is_named:
        return supports("The service data names engine oil; change it more often, since gears shear it thinner.")
    return cautions("Gears shear engine oil thinner in use, and its detergents are not made for gears.")
