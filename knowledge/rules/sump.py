"""Rules about what else shares the sump: final drives and clutches."""

from knowledge.base import KnowledgeBase
from knowledge.oils import Oil
from knowledge.questions import ServiceData
from knowledge.rules.rule import Said, cautions, excludes, not_concerned, rule, supports
from knowledge.service_data import names


@rule(
    ("api-1560-2013", "GL-4 and GL-5"),
    ("trade-practice", "hypoid drive in the gearbox sump"),
    yields_to_service_data=True,
    settled_by="label/family",
)
def hypoid_final_drive_needs_full_ep(*, final_drive: str, has_rings: bool, oil: Oil, base: KnowledgeBase) -> Said:
    """A hypoid final drive in the same sump needs GL-5 level protection, GL-4 only where service data says so.

    Because hypoid teeth slide hard along their whole length; synchronizer rings in the same oil want the
    contrary, so that only the manufacturer's service data can settle it.
    """
    if final_drive != "hypoid":
        return not_concerned("No hypoid final drive in this sump.")
    if oil.family.protection != "full" or oil.family.id == "mt-1":
        return excludes("The hypoid final drive in this sump needs GL-5 level protection.")
    if has_rings:
        return cautions(
            "Protects the hypoid final drive, but rings share the oil: only the manufacturer's service data settles this."
        )
    return supports("Protects the hypoid final drive.")


@rule(
    ("trade-practice", "helical final drive in the gearbox sump"), ("api-1560-2013", "GL-4"), settled_by="label/family"
)
def helical_final_drive_needs_antiwear(
    *, final_drive: str, service_data: ServiceData | None, oil: Oil, base: KnowledgeBase
) -> Said:
    """A helical final drive in the same sump needs antiwear protection of GL-4 or dedicated-fluid level at least.

    Because its teeth carry the whole torque multiplied by the lowest gear.
    """
    if final_drive != "helical":
        return not_concerned("No helical final drive in this sump.")
    if oil.family.protection == "none":
        return excludes("The helical final drive in this sump needs antiwear protection, and this oil has none.")
    if oil.family.protection == "light" and not names(service_data, oil):
        return cautions(
            "Light antiwear only; the helical final drive in this sump asks for more unless service data names it."
        )
    return supports("Protects the helical final drive.")


@rule(("trade-practice", "limited-slip clutches"))
def limited_slip_clutch_needs_its_own_fluid(
    *, limited_slip: bool, service_data: ServiceData | None, oil: Oil, base: KnowledgeBase
) -> Said:
    """A limited-slip clutch pack in the sump is outside of what a generic class can promise.

    Because its plates need the friction modifier that rings must not have; only a fluid made for both will do.
    """
    return _clutch("limited-slip clutch pack", limited_slip, service_data, oil)


@rule(("trade-practice", "wet clutches"))
def wet_clutch_needs_its_own_fluid(
    *, wet_clutch: bool, service_data: ServiceData | None, oil: Oil, base: KnowledgeBase
) -> Said:
    """A wet clutch in the sump is outside of what a generic class can promise.

    Because its friction plates are matched to one fluid.
    """
    return _clutch("wet clutch", wet_clutch, service_data, oil)


def _clutch(words: str, is_there: bool, service_data: ServiceData | None, oil: Oil) -> Said:
    if not is_there:
        return not_concerned(f"No {words} in this sump.")
    if names(service_data, oil):
        return supports(f"The service data names this class for a box with a {words}.")
    return cautions(f"A {words} shares the oil: no generic class can promise that it works. Service data decides.")
