"""The working window, held against an independent solution of ASTM D341 and against the printed W grades."""

from math import log10

import pytest
from scipy.optimize import brentq

from knowledge.box.question import FillQuestion
from knowledge.fill.compute import compute_fill_answer
from knowledge.fill.working_window import MOST_BARS, working_window

TOWS = {"rings": [{"facing": "bronze", "cones": 1, "condition": "worn"}], "duty": "towing", "coldest_start_c": -20,
        "final_drive": "none", "wet_clutch": False, "limited_slip": False}  # fmt: skip


@pytest.fixture
def window_of(base):
    """Asks for the window of a question given by its fields."""
    return lambda **fields: working_window(FillQuestion.model_validate(fields), base)


def test_the_bars_stand_in_the_order_of_the_answer(window_of, base) -> None:
    answer = compute_fill_answer(FillQuestion.model_validate(TOWS), base)
    bars = window_of(**TOWS).bars
    told = dict.fromkeys([answer.leader.lubricant.grade, *(item.lubricant.grade for item in answer.others)])
    assert [bar.lubricant.grade for bar in bars] == list(told)[: len(bars)]
    assert 1 < len(bars) <= MOST_BARS
    assert bars[0].because == answer.leader.because


def test_no_bar_is_drawn_where_nothing_leads(window_of) -> None:
    assert window_of(rings=[{"facing": "paper"}], final_drive="hypoid").bars == ()


def test_a_bar_flows_from_the_temperature_of_its_w_grade(window_of) -> None:
    # SAE J306: 75W flows at -40 °C, 80W at -26 °C.
    flows = {bar.lubricant.grade: bar.flows_from_c for bar in window_of(**TOWS).bars}
    assert {grade: limit for grade, limit in flows.items() if grade.startswith("75W")}.keys()
    assert all(limit == (-40 if grade.startswith("75W") else -26) for grade, limit in flows.items())


def test_a_grade_is_thick_enough_up_to_where_d341_says_so(window_of, base) -> None:
    # ASTM D341 with the constant 0.7, solved by scipy for the thin edge of a grade that no column of heat cuts short.
    bar = next(bar for bar in window_of(**{**TOWS, "bearing": SLOW_BEARING}).bars)
    oil = next(oil for oil in base.lubricants if oil.id == bar.lubricant.id)
    needed = base.limit("bearing-ratio-refused-below") * REFERENCE_MM2_S
    corners = [(corner.kv40_mm2_s, corner.kv100_mm2_s) for corner in oil.corners]
    assert bar.thick_to_c.min == pytest.approx(min(reaches_c(needed, *corner) for corner in corners), abs=0.2)


# ISO 281: the reference viscosity of a bearing of 55 mm at 400 rpm is 45000 n^-0.83 / sqrt(d); from memory.
SLOW_BEARING = {"pitch_diameter_mm": 55.0, "speed_rpm": 400.0}
REFERENCE_MM2_S = 45_000 * 400.0**-0.83 / 55.0**0.5


def reaches_c(wanted_mm2_s: float, kv40_mm2_s: float, kv100_mm2_s: float) -> float:
    """The temperature at which the straight line through both figures has a viscosity."""

    def scaled(kv_mm2_s: float) -> float:
        return log10(log10(kv_mm2_s + 0.7))

    slope = (scaled(kv40_mm2_s) - scaled(kv100_mm2_s)) / (log10(373.15) - log10(313.15))
    return brentq(
        lambda celsius: scaled(kv40_mm2_s) - slope * (log10(celsius + 273.15) - log10(313.15)) - scaled(wanted_mm2_s),
        -40,
        300,
    )
