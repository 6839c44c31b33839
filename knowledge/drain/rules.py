"""Rules about what stays in the box of the old fluid when it is drained and refilled."""

from knowledge.loading.fluid_rows import FamilyRow
from knowledge.rule import Rule, RuleOutcome, cautions, no_data, not_concerned, rule, supports
from knowledge.text import percent

NOTHING_STAYS = "Nothing of the old fluid stays."


def _stays(share: float, what: str) -> str:
    """How much stays; a drain that brings out all still leaves a film."""
    return f"{percent(share).capitalize()} of {what} stays" if share else f"No more than a film of {what} stays"


def _too_much(share: float, limit: float) -> str:
    """A share above its limit, kept apart from it where both read alike."""
    text = percent(share)
    return f"A little more than {text}" if text == percent(limit) else text


@rule(
    ("sae-j2360-202101", "scope: not for worm gears"),
    ("hunt-2016", "abstract"),
    ("trade-practice", "top-ups and flushes"),
)
def full_ep_left_over_reaches_yellow_metal(
    *,
    copper_parts: tuple[str, ...],
    old_family: FamilyRow | None,
    new_family: FamilyRow | None,
    left_share: float,
    may_stay: float,
) -> RuleOutcome:
    """Sulfur of a full extreme-pressure oil goes on reaching copper alloys from what stays in the box.

    Because a drain thins the old additives and does not end them; how little is little enough is custom.
    """
    if old_family is None or old_family.protection != "full" or (new_family and new_family.protection == "full"):
        return not_concerned("none-stays", "No full extreme-pressure additive is left behind by a milder fluid.")
    if not copper_parts:
        return not_concerned("no-copper", "No copper alloy in this sump for it to attack.")
    parts = " and ".join(copper_parts)
    if left_share > may_stay:
        return cautions(
            "too-much-stays",
            "{too_much} of the {old} oil stays with the {parts}: drain until no more than {may_stay} is left.",
            too_much=_too_much(left_share, may_stay),
            old=old_family.label,
            parts=parts,
            may_stay=percent(may_stay),
        )
    text = "{stays} with the {parts}: little enough, by custom."
    return supports("little-stays", text, stays=_stays(left_share, f"the {old_family.label} oil"), parts=parts)


@rule(
    ("sae-2004-01-2022", "abstract: friction modifier is the most active component"),
    ("trade-practice", "top-ups and flushes"),
)
def limited_slip_left_over_reaches_the_rings(
    *, facings: tuple[str, ...], old_is_limited_slip: bool | None, left_share: float, may_stay: float
) -> RuleOutcome:
    """A limited-slip friction modifier that stays in the box goes on making rings slip.

    Because a little of it acts on the whole surface of a ring; how little is little enough is custom.
    """
    if not old_is_limited_slip or not facings:
        return not_concerned("none-stays", "No known limited-slip modifier stays with any ring.")
    if left_share > may_stay:
        text = (
            "{too_much} of the limited-slip oil stays under the rings: drain until no more than {may_stay} is left. "
            "Expect the shifts to come back slowly."
        )
        return cautions("too-much-stays", text, too_much=_too_much(left_share, may_stay), may_stay=percent(may_stay))
    text = "{stays}: little enough, by custom. Judge it after a run."
    return supports("little-stays", text, stays=_stays(left_share, "the limited-slip oil"))


@rule(("trade-practice", "lined rings and gear oil"), ("fillwright-judgement", "what a lining soaks up"))
def gear_oil_left_over_stays_in_a_lining(
    *, facing_kinds: frozenset[str], old_family: FamilyRow | None, new_family: FamilyRow | None
) -> RuleOutcome:
    """What a paper or carbon lining has soaked up does not drain with the sump.

    Because its pores hold oil by themselves; only running in new fluid replaces it, and deposits stay.
    """
    if "lined" not in facing_kinds or old_family is None or old_family.protection != "full":
        return not_concerned("nothing-soaked-up", "No lining that has soaked up full extreme-pressure oil.")
    if new_family is old_family:
        return not_concerned("same-kind", "The new fluid is of the same kind.")
    text = (
        "The linings hold {old} oil in their pores, and no drain takes that out: run it warm, drain again, and look at "
        "the rings if it still grinds."
    )
    return cautions("soaked-up", text, old=old_family.label)


@rule(("api-1560-2013", "MT-1: do not mix with engine oil"))
def engine_oil_and_mt_1_do_not_mix(
    *, old_family: FamilyRow | None, new_family: FamilyRow | None, left_share: float
) -> RuleOutcome:
    """Engine oil and MT-1 oil must not be mixed in a box.

    Because the category's own text says so: their additives were not made for each other.
    """
    kinds = {family.id for family in (old_family, new_family) if family}
    if kinds != {"engine-oil", "mt-1"}:
        return not_concerned("other-kinds", "Not engine oil with MT-1.")
    if not left_share:
        return not_concerned("nothing-stays", NOTHING_STAYS)
    text = (
        "Engine oil and MT-1 must not be mixed, and {left_share} of the old one stays: empty the box as far as it "
        "goes, and ask the manufacturer whether that is enough."
    )
    return cautions("mixed", text, left_share=percent(left_share))


@rule(("trade-practice", "top-ups and flushes"), ("fillwright-judgement", "pairs of which the trade says nothing"))
def different_kinds_share_the_sump(
    *, old_family: FamilyRow | None, new_family: FamilyRow | None, left_share: float, may_stay: float
) -> RuleOutcome:
    """A share of another kind does no harm as long as it is small; how small depends on the pair and on the rings.

    Because each kind is tuned as a whole, and friction at the rings follows what there is most of.
    """
    if old_family is None or new_family is None:
        return no_data("not-known", "Whether both are of one kind is not known.")
    if old_family is new_family:
        return supports("one-kind", "Both are {old}.", old=old_family.label)
    if not left_share:
        return not_concerned("nothing-stays", NOTHING_STAYS)
    most = f"up to {percent(may_stay)} does no harm"
    if left_share > may_stay:
        return cautions(
            "too-much-stays",
            "{too_much} of {old} in {new}: {most}.",
            too_much=_too_much(left_share, may_stay),
            old=old_family.label,
            new=new_family.label,
            most=most,
            severity="note",
        )
    return supports("little-stays", "{stays}: {most}.", stays=_stays(left_share, old_family.label), most=most)


@rule(("astm-d7152-23", "scope: not for viscosity improvers or additive packages"))
def mixture_viscosity_is_an_estimate(*, has_blend: bool) -> RuleOutcome:
    """The viscosity of a mixture of finished oils is an estimate only: the blending rules exclude VI improvers.

    Because the rule was made for plain oils, by volume; by mass it differs little where the densities are alike.
    A grade is given to a measured oil, never to a computed mixture.
    """
    if not has_blend:
        return no_data("not-computable", "The viscosity of the mixture needs KV40 or KV100 of both fluids.")
    text = (
        "Estimate only: the blending rules exclude viscosity improvers and additive packages, which finished oils "
        "have. Shares are by volume."
    )
    return cautions("estimate", text, severity="note")


LEFTOVER_RULES: tuple[Rule, ...] = (
    full_ep_left_over_reaches_yellow_metal,
    limited_slip_left_over_reaches_the_rings,
    gear_oil_left_over_stays_in_a_lining,
    engine_oil_and_mt_1_do_not_mix,
    different_kinds_share_the_sump,
    mixture_viscosity_is_an_estimate,
)
