"""The window: what a data sheet must show, in lines that can be read to a jug."""

from math import log10, sqrt

import pytest
from chemicals.viscosity import viscosity_index as chemicals_viscosity_index
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from knowledge.judging.judgement import Judgement
from knowledge.judging.window import window
from tests.knowledge.law import law

pytestmark = pytest.mark.filterwarnings("ignore:Generating overly large repr")  # of the knowledge base


def first(judgement: Judgement):
    """The class that leads."""
    return judgement.lubricants[judgement.order[0]]


@law(40)
@given(data=st.data())
def test_the_window_is_open_and_the_class_that_leads_passes_through_it(data, partly_stated_questions, judge) -> None:
    judgement = judge(**data.draw(partly_stated_questions))
    found = window(judgement)
    if found is None:
        assert (
            not judgement.order or not judgement.named.is_listed or judgement.verdict(judgement.order[0]) == "depends"
        )
        return
    leader = first(judgement)
    assert found.kv100_mm2_s.min < found.kv100_mm2_s.max
    assert leader.family.id in found.families
    if judgement.is_settled:
        assert found.kv100_mm2_s.min < leader.kv100_max_mm2_s
        assert leader.kv100_min_mm2_s < found.kv100_mm2_s.max


def test_an_axle_grade_that_only_just_flows_does_not_widen_the_window(judge, box, place_of) -> None:
    judgement = judge(**box("bronze", coldest_start_c=-10.0))
    assert judgement.verdict(place_of["gl-4-85w-140"]) == "fits-with-care"
    assert window(judgement).kv100_mm2_s.max < 24.0  # lower edge of grade 140, SAE J306


def test_a_hot_paper_box_asks_for_no_more_than_its_leader_can_show(judge, box) -> None:
    judgement = judge(**box("paper", sump_hot_c=150.0, duty="competition"))
    found = window(judgement).kv100_mm2_s
    assert found.min < min(found.max, first(judgement).kv100_max_mm2_s)


LIMITED_SLIP = {"service_data": {"family": "gl-5-limited-slip", "grade": "75W-90"}}
ENGINE_OIL = {"service_data": {"family": "engine-oil", "grade": "10W-30"}}
HELICAL = {"final_drive": "helical"}
NO_LIMITED_SLIP = "Friction modifier: none of the limited-slip kind"


@pytest.mark.parametrize(
    ("facing", "changes", "asked", "not_asked"),
    [
        ("bronze", {}, "(ASTM D130): 2a or better", "fuel-saving"),
        ("molybdenum", {}, NO_LIMITED_SLIP, "D130"),
        ("molybdenum", LIMITED_SLIP, "as the service data says", NO_LIMITED_SLIP),
        (None, {}, "KV100", "limited-slip"),
        (None, {"wet_clutch": True, "coldest_start_c": 0.0, "sump_hot_c": 110.0}, "fuel-saving", "D130"),
        ("bronze", {"coldest_start_c": -35.0}, "(ASTM D2983): 150 000 mPa·s or less at -35 °C", "SAE J300"),
        ("bronze", {"coldest_start_c": 10.0}, "KV100", "D2983"),
        ("bronze", {"coldest_start_c": -15.0, **ENGINE_OIL}, "SAE J300 that is tested at -15 °C", "D2983"),
        ("bronze", {**HELICAL, "limited_slip": True}, "Friction modifier: as the service data says.", NO_LIMITED_SLIP),
        ("bronze", {**HELICAL, "limited_slip": False}, f"{NO_LIMITED_SLIP}.", "as the service data says"),
        (
            "bronze",
            {**HELICAL, "limited_slip": None},
            "unless a limited-slip clutch pack shares the oil: then as",
            "D341",
        ),
    ],
)
def test_a_data_sheet_is_asked_for_what_this_box_needs(ask_short, box, facing, changes, asked, not_asked) -> None:
    window = ask_short(**box(facing, **changes)).window
    lines = "\n".join(window.on_the_data_sheet).replace("\N{NO-BREAK SPACE}", " ")
    assert asked in lines
    assert not_asked not in lines
    assert window.cold_limit_c == changes.get("coldest_start_c", -15.0)
    assert window.copper_strip_max == ("2a" if facing == "bronze" else None)


def test_service_data_that_leads_with_care_sets_the_window(ask_short, box) -> None:
    answer = ask_short(**box("bronze", service_data={"family": "gl-5", "grade": "75W-90"}))
    assert answer.window.families == ("gl-5",)
    assert answer.window.kv100_mm2_s.min >= 13.5


def test_a_box_where_all_need_care_is_not_offered_the_second_choice_with_the_first(ask_short, box) -> None:
    families = ask_short(**box("bronze", limited_slip=True)).window.families
    assert families[0] in ("gl-4", "mtf")
    assert not {"atf", "engine-oil", "gl-3"} & set(families)


def test_nothing_is_asked_of_a_jug_while_the_answer_depends(ask_short) -> None:
    assert ask_short().window is None


def test_where_nothing_fits_only_the_service_data_is_left(ask_short, box) -> None:
    answer = ask_short(**box("paper", final_drive="hypoid"))
    assert answer.window is None
    assert answer.way_out == ("The exact fluid that the manufacturer's service data names; no generic class fits.",)


def test_a_lined_ring_closes_the_window_below_grade_90(ask_short, box) -> None:
    assert ask_short(**box("paper")).window.kv100_mm2_s.max <= 13.5


def test_the_label_names_kind_and_grade_and_what_must_never_stand_there(ask_short, box) -> None:
    window = ask_short(**box("bronze", coldest_start_c=5.0)).window
    assert window.on_the_label[0] == "GL-4 or MTF"
    assert all(grade in window.on_the_label[1] for grade in window.grades)
    assert {"GL-5", "GL-5 limited-slip"} <= set(window.never_on_the_label)
    assert not {"GL-4", "MTF"} & set(window.never_on_the_label)


def test_a_named_family_without_a_grade_has_the_window_of_all_its_grades(ask_short, box, base) -> None:
    answer = ask_short(**box("paper", sump_hot_c=110.0, duty="towing", service_data={"family": "atf"}))
    bands = [(row.kv100_min_mm2_s, row.kv100_max_mm2_s) for row in base.lubricant_rows.values() if row.family == "atf"]
    assert len(bands) == 2
    assert answer.window.kv100_mm2_s.max == max(most for _, most in bands)
    assert answer.window.kv100_mm2_s.min < min(most for _, most in bands)


def test_a_named_family_does_not_open_the_window_for_axle_grades(ask_short, box) -> None:
    answer = ask_short(**box("bronze", coldest_start_c=5.0, service_data={"family": "gl-4"}))
    assert answer.window.kv100_mm2_s.max == 24.0  # lower edge of grade 140, SAE J306


def kappa(kv100: float, viscosity_index: float, celsius: float) -> float:
    """Viscosity ratio of the assumed bearing, by ASTM D341 and ISO 281 (from 1000 rpm), both from memory."""
    kv40 = brentq(lambda kv40: chemicals_viscosity_index(kv40 * 1e-6, kv100 * 1e-6) - viscosity_index, kv100 * 2, 2000)

    def twice_logged(viscosity: float) -> float:
        return log10(log10(viscosity + 0.7))

    slope = (twice_logged(kv40) - twice_logged(kv100)) / (log10(313.15) - log10(373.15))
    viscosity = 10**10 ** (twice_logged(kv100) + slope * (log10(celsius + 273.15) - log10(373.15))) - 0.7
    return viscosity / (4500 / sqrt(55 * 2500))  # the assumed bearing: 55 mm, 2500 rpm


# Where log-log interpolation between the edges of a grade is off (kinks of D2270), and far from them.
@pytest.mark.parametrize(
    ("sump", "coldest"), [(110.0, -45.0), (121.0, -45.0), (130.0, -45.0), (145.0, -20.0), (150.0, 0.0)]
)
def test_the_least_kv100_keeps_the_bearings_apart_at_any_usual_viscosity_index(
    ask_short, box, base, sump, coldest
) -> None:
    changes = {"condition": "worn", "cones": 2, "coldest_start_c": coldest, "sump_hot_c": sump, "duty": "competition"}
    answer = ask_short(**box("bronze", **changes))
    oil = next(oil for oil in base.lubricants if oil.id == answer.leader.lubricant.id)
    least = answer.window.kv100_mm2_s.min
    assert least > oil.kv100_min_mm2_s  # the bearing has its say
    assert kappa(least, oil.viscosity_index_min, sump) >= 0.4
    assert kappa(least - 0.1, oil.viscosity_index_min, sump) < 0.5


def test_where_only_a_high_viscosity_index_is_thick_enough_the_window_says_so(ask_short, box, base) -> None:
    highway = {"condition": "worn", "coldest_start_c": -45.0, "sump_hot_c": 134.0, "duty": "highway"}
    window = ask_short(**box("bronze", **highway)).window
    best = max(oil.viscosity_index_max for oil in base.lubricants if oil.family.id in window.families)
    assert any(line.startswith("Viscosity index: the highest") for line in window.on_the_data_sheet)
    assert kappa(window.kv100_mm2_s.min - 0.1, best, 134.0) < 0.4 <= kappa(window.kv100_mm2_s.max, best, 134.0)


@law(40)
@given(data=st.data())
def test_no_jug_of_the_window_is_refused_for_being_thin(data, stated_questions, ask_short, base, read) -> None:
    box = data.draw(stated_questions)
    answer = ask_short(**box)
    window = answer.window
    if window is None or any("Viscosity index" in line for line in window.on_the_data_sheet):
        return
    for oil in base.lubricants:
        if oil.family.id in window.families and oil.kv100_min_mm2_s <= window.kv100_mm2_s.min < oil.kv100_max_mm2_s:
            label = {"family": oil.family.id, "grade": oil.grade}
            jug = read(label=label, kv100_mm2_s=window.kv100_mm2_s.min, question=box)
            bearings = next(item for item in jug.findings if item.rule == "bearings-need-viscosity-when-hot")
            assert bearings.effect != "excludes"


def test_what_speaks_against_the_service_data_is_said_first(ask_short, box) -> None:
    answer = ask_short(**box("carbon", coldest_start_c=-10.0, service_data={"family": "gl-4", "grade": "80W-90"}))
    assert answer.service_data.status == "conflicts"
    assert "clear it up with the manufacturer" in answer.summary
    assert answer.window.on_the_data_sheet[0].startswith("First of all: clear up")


def test_a_box_that_a_copper_strip_could_settle_says_so_everywhere(ask_short, box) -> None:
    proven = {"label": {"family": "gl-5", "grade": "80W-90"}, "kv40_mm2_s": 150, "kv100_mm2_s": 15, "t150_c": -28,
              "copper_strip": {"rating": "1b", "temperature_c": 121, "hours": 3}}  # fmt: skip
    answer = ask_short(**box(None, yellow_metal=True, final_drive="hypoid", on_hand=[proven]))
    assert answer.outcome == "none-suitable"
    assert answer.jugs[0].verdict == "fits-with-care"
    for told in (answer.summary, answer.say, answer.way_out[1]):
        assert "copper strip" in told.lower()
    nothing_helps = ask_short(**box("paper", final_drive="hypoid"))
    assert "copper strip" not in nothing_helps.summary
