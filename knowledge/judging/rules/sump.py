"""Rules about what else shares the sump: final drives and clutches."""

from knowledge.judging.box_columns import BoxColumns
from knowledge.judging.column_rule import Decision, column_rule, first_of


@column_rule(
    ("api-1560-2013", "GL-4 and GL-5"),
    ("trade-practice", "hypoid drive in the gearbox sump"),
    reads=("final_drive", "facings"),
    uses_service_data=True,
    settled_by="label/family",
)
def hypoid_final_drive_needs_full_ep(x: BoxColumns) -> Decision:
    """A hypoid final drive in the same sump needs GL-5 level protection, a milder oil only where the book says so.

    Because hypoid teeth slide hard along their whole length; lined rings in the same oil want the contrary, so that
    only the manufacturer's service data can settle it.
    """
    return first_of(
        (~x.has_final_drive("hypoid"), "no-hypoid"),
        (x.is_named & x.lubricants.has_strong_ep, "named"),
        (x.has_kind("lined"), "lined-rings"),
        (~x.lubricants.protects_hypoid, "too-mild"),
        otherwise="protects",
    )


@column_rule(
    ("trade-practice", "helical final drive in the gearbox sump"),
    ("api-1560-2013", "GL-4"),
    reads=("final_drive", "wet_clutch"),
    uses_service_data=True,
    settled_by="label/family",
)
def helical_final_drive_needs_antiwear(x: BoxColumns) -> Decision:
    """A helical final drive in the same sump needs antiwear protection of GL-4 or dedicated-fluid level at least.

    Because its teeth carry the whole torque multiplied by the lowest gear. Beside a wet clutch there is no choice.
    """
    return first_of(
        (~x.has_final_drive("helical"), "no-helical"),
        (x.lubricants.has_no_protection, "none"),
        (x.lubricants.has_light_protection & x.has_wet_clutch, "light-for-the-clutch"),
        (x.lubricants.has_light_protection & ~x.is_named, "light"),
        otherwise="protects",
    )


@column_rule(("trade-practice", "limited-slip clutches"), reads=("limited_slip", "facings"), uses_service_data=True)
def limited_slip_clutch_needs_its_own_fluid(x: BoxColumns) -> Decision:
    """A limited-slip clutch pack in the sump needs limited-slip oil; beside rings only the book can name a fluid.

    Because its plates need the friction modifier that rings must not have.
    """
    return first_of(
        (~x.has_limited_slip, "no-pack"),
        (x.is_named, "named"),
        (x.has_rings, "rings-share"),
        (x.lubricants.is_limited_slip, "made-for-it"),
        otherwise="may-chatter",
    )


@column_rule(("trade-practice", "wet clutches"), reads=("wet_clutch", "facings"), uses_service_data=True)
def wet_clutch_needs_its_own_fluid(x: BoxColumns) -> Decision:
    """A wet clutch in the sump needs the kind of fluid that clutches run in; beside rings only the book can name one.

    Because its plates slip or grab in gear oil, and slip in what is made slippery; what rings want of the same fluid
    no label promises.
    """
    return first_of(
        (~x.has_wet_clutch, "no-clutch"),
        (x.is_named & x.lubricants.suits_wet_clutch & ~x.lubricants.is_limited_slip, "named"),
        (x.is_named, "named-for-other-work"),
        (x.has_rings, "rings-share"),
        (x.lubricants.is_limited_slip, "modifier"),
        (x.lubricants.suits_wet_clutch, "made-for-it"),
        otherwise="not-made-for-it",
    )
