"""What makes a rule of the shift: its sources, and the fields of the question that it reads."""

from collections.abc import Callable
from dataclasses import replace

from knowledge.rule import Rule, RuleOutcome, rule

GRIP = ("facing", "friction", "fluid")

CONE = ("mean_radius_mm", "half_angle_deg", "cones")

CHAMFERS = ("chamfer_included_deg", "chamfer_friction", "spline_radius_mm")

LOAD = ("inertia_kg_m2", "speed_difference_rpm", "drag_nm", "direction")


def shift_rule(*sources: tuple[str, str], reads: tuple[str, ...]) -> Callable[[Callable[..., RuleOutcome]], Rule]:
    """Make a rule of a function that takes a `LoadedRing`; `reads` are fields of the shift question."""
    return lambda judge: replace(rule(*sources)(judge), reads=reads)
