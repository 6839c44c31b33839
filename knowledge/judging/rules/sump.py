"""Rules about what else shares the sump: final drives and clutches."""

from knowledge.judging.box_columns import BoxColumns
from knowledge.judging.column_rule import Decision, column_rule, first_of


@column_rule(
    ("api-1560-2013", "GL-4 and GL-5"),
    ("trade-practice", "hypoid drive in the gearbox sump"),
    reads=("final_drive", "facings"),
    yields_to_service_data=True,
    uses_service_data=True,
    settled_by="label/family",
)
def hypoid_final_drive_needs_full_ep(x: BoxColumns) -> Decision:
    """A hypoid final drive in the same sump needs GL-5 level protection, GL-4 only where service data says so.

    Because hypoid teeth slide hard along their whole length; synchronizer rings in the same oil want the
    contrary, so that only the manufacturer's service data can settle it.
    """
    oil = x.lubricants
    return first_of(
        (~x.has_final_drive("hypoid"), "no-hypoid"),
        (x.is_named & oil.is_gear_oil & oil.has_strong_ep & ~oil.has_full_ep, "vouched-for"),
        (~oil.protects_hypoid, "too-mild"),
        (x.has_rings, "rings-share"),
        otherwise="protects",
    )


@column_rule(
    ("trade-practice", "helical final drive in the gearbox sump"),
    ("api-1560-2013", "GL-4"),
    reads=("final_drive",),
    uses_service_data=True,
    settled_by="label/family",
)
def helical_final_drive_needs_antiwear(x: BoxColumns) -> Decision:
    """A helical final drive in the same sump needs antiwear protection of GL-4 or dedicated-fluid level at least.

    Because its teeth carry the whole torque multiplied by the lowest gear.
    """
    return first_of(
        (~x.has_final_drive("helical"), "no-helical"),
        (x.lubricants.has_no_protection, "none"),
        (x.lubricants.has_light_protection & ~x.is_named, "light"),
        otherwise="protects",
    )


@column_rule(("trade-practice", "limited-slip clutches"), reads=("limited_slip",), uses_service_data=True)
def limited_slip_clutch_needs_its_own_fluid(x: BoxColumns) -> Decision:
    """A limited-slip clutch pack in the sump is outside of what a generic class can promise.

    Because its plates need the friction modifier that rings must not have; only a fluid made for both will do.
    """
    return first_of((~x.has_limited_slip, "no-pack"), (x.is_named, "named"), otherwise="unpromised")


@column_rule(("trade-practice", "wet clutches"), reads=("wet_clutch",), uses_service_data=True)
def wet_clutch_needs_its_own_fluid(x: BoxColumns) -> Decision:
    """A wet clutch in the sump is outside of what a generic class can promise, gear oil least of all.

    Because its friction plates are matched to one fluid of the kind that clutches run in; in gear oil they slip or
    grab.
    """
    return first_of(
        (~x.has_wet_clutch, "no-clutch"),
        (x.is_named, "named"),
        (x.lubricants.is_limited_slip, "modifier"),
        (x.lubricants.suits_wet_clutch, "of-that-kind"),
        otherwise="not-made-for-it",
    )
