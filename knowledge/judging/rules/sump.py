"""Rules about what else shares the sump: final drives and clutches."""

from knowledge.loading.schema import FamilyRow
from knowledge.lubricant import Lubricant
from knowledge.rule import RuleOutcome, cautions, excludes, not_concerned, rule, supports


@rule(
    ("api-1560-2013", "GL-4 and GL-5"),
    ("trade-practice", "hypoid drive in the gearbox sump"),
    yields_to_service_data=True,
    settled_by="label/family",
)
def hypoid_final_drive_needs_full_ep(
    *, final_drive: str, has_rings: bool, is_named: bool, family: FamilyRow
) -> RuleOutcome:
    """A hypoid final drive in the same sump needs GL-5 level protection, GL-4 only where service data says so.

    Because hypoid teeth slide hard along their whole length; synchronizer rings in the same oil want the
    contrary, so that only the manufacturer's service data can settle it.
    """
    if final_drive != "hypoid":
        return not_concerned("No hypoid final drive in this sump.")
    if is_named and family.is_gear_oil and family.protection == "moderate":
        return cautions(
            f"{family.label} protects the hypoid final drive only as far as the service data vouches for it."
        )
    if not family.protects_hypoid:
        return excludes("The hypoid final drive in this sump needs GL-5 level protection.")
    if has_rings:
        return cautions(
            "Protects the hypoid final drive, but rings share the oil: only the manufacturer's service data settles "
            "this."
        )
    return supports("Protects the hypoid final drive.")


@rule(
    ("trade-practice", "helical final drive in the gearbox sump"), ("api-1560-2013", "GL-4"), settled_by="label/family"
)
def helical_final_drive_needs_antiwear(*, final_drive: str, is_named: bool, family: FamilyRow) -> RuleOutcome:
    """A helical final drive in the same sump needs antiwear protection of GL-4 or dedicated-fluid level at least.

    Because its teeth carry the whole torque multiplied by the lowest gear.
    """
    if final_drive != "helical":
        return not_concerned("No helical final drive in this sump.")
    if family.protection == "none":
        return excludes("The helical final drive in this sump needs antiwear protection, and this oil has none.")
    if family.protection == "light" and not is_named:
        return cautions(
            "Light antiwear only; the helical final drive in this sump asks for more unless service data names it."
        )
    return supports("Protects the helical final drive.")


@rule(("trade-practice", "limited-slip clutches"))
def limited_slip_clutch_needs_its_own_fluid(*, limited_slip: bool, is_named: bool, family: FamilyRow) -> RuleOutcome:
    """A limited-slip clutch pack in the sump is outside of what a generic class can promise.

    Because its plates need the friction modifier that rings must not have; only a fluid made for both will do.
    """
    if not limited_slip:
        return not_concerned("No limited-slip clutch pack in this sump.")
    if is_named:
        return supports("The service data names this class for a box with a limited-slip clutch pack.")
    return cautions(
        "A limited-slip clutch pack shares the oil: no generic class can promise that it works. Service data decides."
    )


@rule(("trade-practice", "wet clutches"))
def wet_clutch_needs_its_own_fluid(*, wet_clutch: bool, is_named: bool, oil: Lubricant) -> RuleOutcome:
    """A wet clutch in the sump is outside of what a generic class can promise, gear oil least of all.

    Because its friction plates are matched to one fluid of the kind that clutches run in; in gear oil they slip or
    grab.
    """
    if not wet_clutch:
        return not_concerned("No wet clutch in this sump.")
    if is_named:
        return supports("The service data names this class for a box with a wet clutch.")
    if oil.limited_slip:
        return cautions("A wet clutch shares the oil, and a limited-slip friction modifier may make it slip.")
    if oil.family.suits_wet_clutch:
        return cautions(
            "Wet clutches run in fluids of this kind, but each in its own: only the service data can promise it.",
            severity="note",
        )
    return cautions(
        "A wet clutch shares the oil, and this kind is not made for its plates: they may slip or grab. "
        "Service data decides."
    )
