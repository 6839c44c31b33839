"""The tables of the shift question: what the check refuses, and what must be so in the rows as shipped."""

from typing import get_args

import pytest

from knowledge.base import KnowledgeBase
from knowledge.loading.facing_rows import LimitName


@pytest.mark.parametrize(
    ("table", "old", "new", "told"),
    [
        ("facing_limits", "bronze,pressure_n_mm2,3,N/mm²", "bronze,pressure_n_mm2,3,MPa", "unit must be N/mm²"),
        ("facing_limits", "from-memory,false,Not chosen: the high end", "from-memory,true,Not chosen: the high end",
         "paper / sliding_speed_m_s stands already as chosen"),
        ("facing_thermal", "steel-cone", "steel", "'steel' is not in the table 'facings'"),
        ("ring_lands", "1e-13,0.5,50,8", "1e-13,0.5,50,80", "must be below film_start_um"),
        ("friction", "paper,0.10,0.15,1.1,1.5", "paper,0.15,0.10,1.1,1.5", "must not be below dynamic_min"),
        ("friction", "paper,0.10,0.15,1.1,1.5", "paper,0.10,0.15,,1.5", "must be given in a chosen row"),
        ("facing_thermal", "bronze,70,60,110", "bronze,70,75,110", "must not be above conductivity_w_m_k"),
        ("friction_by_fluid", "bronze,mtf,1,0.8", "bronze,mtf,1.1,0.8", "dynamic_factor"),
        ("friction_by_fluid", "bronze,mtf,1", "carbon,mtf,1", "carbon / mtf stands already in line"),
        ("friction", "sintered,0.05,0.08,,,false", "sintered,0.05,0.08,,,true", "'sintered' stands already as chosen"),
        ("shift_bounds", "half_angle_deg,paper,7,12", "half_angle_deg,paper,12,7", "high: must be above low"),
        ("defaults", "shift,shift_force_n,400", "shift,shift_force_n,-400", "not one that shift_force_n can have"),
        ("defaults", "shift,warming_depth_mm,10", "shift,warming_depth_mm,0", "value must be from 0.001 to 100"),
        ("defaults", "shift,drag_nm", "shift,drags_nm", "no row for shift / drag_nm"),
        ("thresholds", "taper-gap-from", "taper-gap", "no row for taper-gap-from"),
        ("shift_bounds", "cones,,1,3", "cones,bronze,1,3", "no row for cones"),
    ],
)  # fmt: skip
def test_a_row_that_cannot_stand_is_told(spoilt, table: str, old: str, new: str, told: str) -> None:
    faults = spoilt(f"{table}.csv", old, new)
    assert any(told in fault.message for fault in faults)
    assert f"{table}.csv" in {fault.file for fault in faults}


def test_exactly_one_row_is_chosen_for_each_facing_and_limit(base: KnowledgeBase) -> None:
    chosen = [(row.facing, row.quantity) for row in base.facing_limits if row.chosen]
    assert sorted(chosen) == sorted((facing, quantity) for facing in base.facings for quantity in get_args(LimitName))


def test_where_sources_disagree_each_row_says_why_it_was_taken_or_not(base: KnowledgeBase) -> None:
    for row in (*base.facing_limits, *base.facing_thermal, *base.friction):
        assert row.note.startswith("Chosen" if row.chosen else "Not chosen")


def test_a_limited_slip_fluid_leaves_least_friction_on_every_facing(base: KnowledgeBase) -> None:
    for facing in base.facings:
        left = {family: base.friction_by_fluid[facing, family].dynamic_factor for family in base.families}
        assert min(left, key=left.get) == "gl-5-limited-slip"
        assert left["mtf"] == 1


def test_full_extreme_pressure_costs_a_lining_more_than_a_metal_ring(base: KnowledgeBase) -> None:
    """Common practice: thick extreme-pressure gear oil glazes a lined ring."""
    for family in ("gl-5", "gl-4-gl-5"):
        left = {facing: base.friction_by_fluid[facing, family].dynamic_factor for facing in base.facings}
        assert max(left["paper"], left["carbon"]) < min(left["bronze"], left["molybdenum"], left["sintered"])
