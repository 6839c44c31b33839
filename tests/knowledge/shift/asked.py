"""How these tests ask about a shift."""

from typing import Any

from knowledge.assemble import read_knowledge
from knowledge.parts.provenance import Finding
from knowledge.rings.shift_question import ShiftQuestion
from knowledge.shift.answer import FullShiftAnswer
from knowledge.shift.compute import full_shift_answer

BASE = read_knowledge()
SHIFT = {"inertia_kg_m2": 0.01, "speed_difference_rpm": 1500, "direction": "up", "drag_nm": 1.5, "sump_c": 90}

STATED = {
    **SHIFT,
    "friction": 0.10,
    "shift_force_n": 600,
    "mean_radius_mm": 32,
    "half_angle_deg": 6.5,
    "face_width_mm": 8,
}
KNOWN = {
    **STATED, "cones": 1, "chamfer_included_deg": 110, "chamfer_friction": 0.09, "spline_radius_mm": 38, "shifts": 1,
    "shift_interval_s": 5, "condition": "new", "detent_force_n": 60, "contact_share": 1,
}  # fmt: skip
NAMES = {
    "cone_torque_nm", "index_torque_nm", "least_friction_to_block", "blocks", "wedges", "sync_time_s", "energy_j",
    "energy_per_area_j_mm2", "power_mean_w_mm2", "power_peak_w_mm2", "pressure_n_mm2", "sliding_speed_m_s",
    "interface_rise_k", "interface_peak_c", "after_shifts_c", "facings", "least_changes",
}  # fmt: skip


def ask(**fields: Any) -> FullShiftAnswer:
    """The full answer to a question given by its fields."""
    return full_shift_answer(ShiftQuestion.model_validate(fields), BASE)


def finding(answer: FullShiftAnswer, rule: str) -> Finding:
    """What a rule says of the facing that leads."""
    return next(item for item in answer.facings[0].findings if item.rule == rule)
