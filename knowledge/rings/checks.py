"""What must hold in the tables of a shift beyond their keys: figures that a ring can have, bounds that can be asked."""

from collections.abc import Iterator
from itertools import product

from pydantic import ValidationError

from knowledge.errors import Fault
from knowledge.loading.cells import Placed, Tables
from knowledge.loading.check import not_one_each
from knowledge.loading.facing_rows import LEVER_NAMES, FacingRow, FacingThermalRow, FrictionRow, ShiftBoundRow
from knowledge.parts.request_model import whole
from knowledge.parts.units import unit_of
from knowledge.rings.shift_question import ShiftQuestion

# What a shift question has to state, whatever else it leaves out.
LOAD_OF_A_SHIFT = {"inertia_kg_m2": 1, "speed_difference_rpm": 1}


def ring_faults(tables: Tables) -> Iterator[Fault]:
    """Every fault of these tables that no single row can show by itself."""
    facings = [row.id for row in tables.rows(FacingRow)]
    levers = [(name, None) for name in LEVER_NAMES if name != "half_angle_deg"]
    wanted = (*levers, *product(["half_angle_deg"], facings))
    yield from not_one_each("shift_bounds.csv", ("lever", "facing"), wanted, tables[ShiftBoundRow])
    for bound in tables[ShiftBoundRow]:
        yield from _impossible_bound(bound)
    for heat in tables[FacingThermalRow]:
        if heat.row.chosen and heat.row.density_kg_m3 is None:
            yield heat.fault("density_kg_m3", "density_kg_m3 must be given in a chosen row")
    for friction in tables[FrictionRow]:
        for field in ("static_to_dynamic_typical", "static_to_dynamic_max"):
            if friction.row.chosen and getattr(friction.row, field) is None:
                yield friction.fault(field, f"{field} must be given in a chosen row")


def _impossible_bound(placed: Placed[ShiftBoundRow]) -> Iterator[Fault]:
    """A least change is put as a question again, so its bounds have to be such as could be asked."""
    row = placed.row
    is_ratio = row.lever == "mean_radius_mm"
    unit = "1" if is_ratio else unit_of(row.lever)
    if row.unit != unit:
        yield placed.fault("unit", f"unit must be {unit}")
    if is_ratio:
        if not 0 < row.low <= 1 <= row.high:
            yield placed.fault("low", "low must be above 0, and 1 must lie between low and high")
        return
    for end in ("low", "high"):
        try:
            ShiftQuestion.model_validate({**LOAD_OF_A_SHIFT, row.lever: whole(getattr(row, end))})
        except ValidationError:
            yield placed.fault(end, f"{end} is not one that {row.lever} can have")
