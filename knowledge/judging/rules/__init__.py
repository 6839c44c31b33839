"""The rules that judge a lubricant for a box, in the order in which an answer lists them."""

from knowledge.judging.column_rule import ColumnRule
from knowledge.judging.rules.chemistry import (
    dual_label_speaks_of_gears_only,
    engine_oil_shears_down_and_carries_detergent,
    full_ep_additives_attack_yellow_metal,
    gl_1_carries_no_protection,
    limited_slip_modifier_lowers_ring_friction,
    measured_copper_strip_speaks_for_the_jug,
    mt_1_is_for_boxes_without_rings,
)
from knowledge.judging.rules.cold import (
    cold_first_shifts_need_the_film_wiped,
    cold_start_needs_oil_that_flows,
    first_shifts_come_freely_once_warm_enough,
)
from knowledge.judging.rules.duty import (
    fluid_must_leave_rings_their_blocking_reserve,
    hard_shifts_must_not_overheat_the_facing,
)
from knowledge.judging.rules.hot import (
    a_stated_sump_must_be_borne_for_long,
    bearings_need_viscosity_when_hot,
    gear_film_sets_the_protection_needed,
)
from knowledge.judging.rules.rings import (
    axle_grades_drag_on_the_rings,
    lined_rings_burn_under_thick_gear_oil,
    lined_rings_take_dedicated_fluid,
    mixed_sets_follow_the_most_demanding_ring,
    sintered_rings_answer_fluids_their_own_way,
    solid_and_sprayed_rings_take_gl_4_or_dedicated_fluid,
    unsynchronized_boxes_take_gear_oil,
)
from knowledge.judging.rules.sump import (
    helical_final_drive_needs_antiwear,
    hypoid_final_drive_needs_full_ep,
    limited_slip_clutch_needs_its_own_fluid,
    wet_clutch_needs_its_own_fluid,
)

RULES: tuple[ColumnRule, ...] = (
    lined_rings_burn_under_thick_gear_oil,
    lined_rings_take_dedicated_fluid,
    solid_and_sprayed_rings_take_gl_4_or_dedicated_fluid,
    sintered_rings_answer_fluids_their_own_way,
    unsynchronized_boxes_take_gear_oil,
    mixed_sets_follow_the_most_demanding_ring,
    axle_grades_drag_on_the_rings,
    limited_slip_modifier_lowers_ring_friction,
    full_ep_additives_attack_yellow_metal,
    measured_copper_strip_speaks_for_the_jug,
    dual_label_speaks_of_gears_only,
    mt_1_is_for_boxes_without_rings,
    gl_1_carries_no_protection,
    engine_oil_shears_down_and_carries_detergent,
    hypoid_final_drive_needs_full_ep,
    helical_final_drive_needs_antiwear,
    limited_slip_clutch_needs_its_own_fluid,
    wet_clutch_needs_its_own_fluid,
    bearings_need_viscosity_when_hot,
    a_stated_sump_must_be_borne_for_long,
    gear_film_sets_the_protection_needed,
    cold_start_needs_oil_that_flows,
    cold_first_shifts_need_the_film_wiped,
    first_shifts_come_freely_once_warm_enough,
    fluid_must_leave_rings_their_blocking_reserve,
    hard_shifts_must_not_overheat_the_facing,
)
