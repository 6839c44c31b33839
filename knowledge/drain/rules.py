"""Rules about what stays in the box of the old fluid when it is drained and refilled."""

from knowledge.loading.schema import FamilyRow
from knowledge.rule import Rule, RuleOutcome, cautions, no_data, not_concerned, rule, supports
from knowledge.text import limit_percent, percent, plain

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
    ("fillwright-judgement", "share that may stay"),
)
def full_ep_left_over_reaches_yellow_metal(
    *,
    copper_parts: tuple[str, ...],
    old_family: FamilyRow | None,
    new_family: FamilyRow | None,
    left_share: float,
    most_full_ep_left: float,
) -> RuleOutcome:
    """Sulfur of a full extreme-pressure oil goes on reaching copper alloys from what stays in the box.

    Because a drain thins the old additives and does not end them; how little is little enough is our judgement.
    """
    if old_family is None or old_family.protection != "full" or (new_family and new_family.protection == "full"):
        return not_concerned("No full extreme-pressure additive is left behind by a milder fluid.")
    if not copper_parts:
        return not_concerned("No copper alloy in this sump for it to attack.")
    parts = " and ".join(copper_parts)
    if left_share > most_full_ep_left:
        return cautions(
            f"{_too_much(left_share, most_full_ep_left)} of the {old_family.label} oil stays with the {parts}: drain "
            f"until no more than {percent(most_full_ep_left)} is left."
        )
    return supports(f"{_stays(left_share, f'the {old_family.label} oil')} with the {parts}: little, by our judgement.")


@rule(
    ("sae-2004-01-2022", "abstract: friction modifier is the most active component"),
    ("fillwright-judgement", "share that may stay"),
)
def limited_slip_left_over_reaches_the_rings(
    *, facings: tuple[str, ...], old_is_limited_slip: bool | None, left_share: float, most_limited_slip_left: float
) -> RuleOutcome:
    """A limited-slip friction modifier that stays in the box goes on making rings slip.

    Because a little of it acts on the whole surface of a ring; how little is little enough is our judgement.
    """
    if not old_is_limited_slip or not facings:
        return not_concerned("No known limited-slip modifier stays with any ring.")
    if left_share > most_limited_slip_left:
        return cautions(
            f"{_too_much(left_share, most_limited_slip_left)} of the limited-slip oil stays under the rings: drain "
            f"until no more than {percent(most_limited_slip_left)} is left. Expect the shifts to come back slowly."
        )
    return supports(f"{_stays(left_share, 'the limited-slip oil')}: little, by our judgement. Judge it after a run.")


@rule(("trade-practice", "lined rings and gear oil"), ("fillwright-judgement", "what a lining soaks up"))
def gear_oil_left_over_stays_in_a_lining(
    *, facing_kinds: frozenset[str], old_family: FamilyRow | None, new_family: FamilyRow | None
) -> RuleOutcome:
    """What a paper or carbon lining has soaked up does not drain with the sump.

    Because its pores hold oil by themselves; only running in new fluid replaces it, and deposits stay.
    """
    if "lined" not in facing_kinds or old_family is None or old_family.protection != "full":
        return not_concerned("No lining that has soaked up full extreme-pressure oil.")
    if new_family is old_family:
        return not_concerned("The new fluid is of the same kind.")
    return cautions(
        f"The linings hold {old_family.label} oil in their pores, and no drain takes that out: run it warm, drain "
        "again, and look at the rings if it still grinds."
    )


@rule(("api-1560-2013", "MT-1: do not mix with engine oil"))
def engine_oil_and_mt_1_do_not_mix(
    *, old_family: FamilyRow | None, new_family: FamilyRow | None, left_share: float
) -> RuleOutcome:
    """Engine oil and MT-1 oil must not be mixed in a box.

    Because the category's own text says so: their additives were not made for each other.
    """
    kinds = {family.id for family in (old_family, new_family) if family}
    if kinds != {"engine-oil", "mt-1"}:
        return not_concerned("Not engine oil with MT-1.")
    if not left_share:
        return not_concerned(NOTHING_STAYS)
    return cautions(
        f"Engine oil and MT-1 must not be mixed, and {percent(left_share)} of the old one stays: empty the box as "
        "far as it goes, and ask the manufacturer whether that is enough."
    )


@rule(("fillwright-judgement", "an unknown fluid"), ("trade-practice", "unknown fluid in a gearbox"))
def unknown_old_fluid_counts_as_the_worst(
    *, old_family: FamilyRow | None, old_is_limited_slip: bool | None, left_share: float, most_left_of_its_kind: float
) -> RuleOutcome:
    """An old fluid nobody can name is drained as if it were the worst for this box.

    Because it may hold a limited-slip modifier or full extreme-pressure additives, and colour or smell do not tell.
    """
    if old_family is not None or old_is_limited_slip:
        return not_concerned("The old fluid is known.")
    if not left_share:
        return not_concerned(NOTHING_STAYS)
    return cautions(
        f"Nobody knows what kind is in it: drain until no more than {percent(most_left_of_its_kind)} is left, "
        "as if it were the worst for these rings."
    )


@rule(("trade-practice", "mixing kinds of fluid"))
def different_kinds_share_the_sump(
    *, old_family: FamilyRow | None, new_family: FamilyRow | None, left_share: float
) -> RuleOutcome:
    """Two kinds of fluid in one sump are a mixture that nobody has tested.

    Because each is tuned as a whole; friction at the rings may follow either of them.
    """
    if old_family is None or new_family is None:
        return no_data("Whether old and new are of one kind is not known.")
    if old_family is new_family:
        return supports(f"Old and new are both {old_family.label}.")
    if not left_share:
        return not_concerned(NOTHING_STAYS)
    return cautions(
        f"Nobody has tested {new_family.label} with {percent(left_share)} of {old_family.label} in it.", severity="note"
    )


@rule(("astm-d7152-23", "scope: not for viscosity improvers or additive packages"))
def mixture_viscosity_is_an_estimate(*, has_blend: bool) -> RuleOutcome:
    """The viscosity of a mixture of finished oils is an estimate only: the blending rules exclude VI improvers.

    Because the rule was made for plain oils, by volume; by mass it differs little where the densities are alike.
    A grade is given to a measured oil, never to a computed mixture.
    """
    if not has_blend:
        return no_data("The viscosity of the mixture needs KV40 or KV100 of both fluids.")
    return cautions(
        "Estimate only: the blending rules exclude viscosity improvers and additive packages, which finished oils "
        "have. Shares are by volume.",
        severity="note",
    )


@rule(("fillwright-judgement", "perfect mixing between the rounds"))
def a_run_between_the_rounds_mixes_them(*, rounds_shown: int) -> RuleOutcome:
    """The shares hold for rounds with a run between them.

    Because without a run a second drain brings out the new fluid that was just poured in.
    """
    if rounds_shown < 2:
        return not_concerned("One round needs no run before another.")
    return cautions("These shares hold only with a run between the rounds that mixes old and new.", severity="note")


@rule(("fillwright-judgement", "rounds after which draining is no longer the way"))
def draining_reaches_the_target(
    *, rounds_to_target: int | None, target_old_share: float, drained_share: float, most_rounds: float
) -> RuleOutcome:
    """Draining and refilling must reach the wanted share in a bearable number of rounds.

    Because each round takes only the same part of what is left; where little drains, the box has to be emptied
    in another way.
    """
    wanted = limit_percent(target_old_share)
    if rounds_to_target is None:
        return cautions(
            f"With {percent(drained_share)} drained each time, {plain(most_rounds)} rounds do "
            f"not bring it to {wanted}: empty the box in another way, by its low plugs, by pump, or opened up."
        )
    if rounds_to_target == 1:
        return supports(f"One round brings the old fluid to {wanted} or less.")
    return supports(f"{rounds_to_target} rounds bring the old fluid to {wanted} or less.")


LEFTOVER_RULES: tuple[Rule, ...] = (
    draining_reaches_the_target,
    full_ep_left_over_reaches_yellow_metal,
    limited_slip_left_over_reaches_the_rings,
    gear_oil_left_over_stays_in_a_lining,
    engine_oil_and_mt_1_do_not_mix,
    unknown_old_fluid_counts_as_the_worst,
    different_kinds_share_the_sump,
    mixture_viscosity_is_an_estimate,
    a_run_between_the_rounds_mixes_them,
)
