"""What the rules together forbid, and where a class of oil simply fits: common practice, no source."""

import pytest

from knowledge.box.question import FillQuestion
from knowledge.fluids.data_sheet import Sheet
from knowledge.fluids.possible_lubricants import possible_lubricants
from knowledge.judging.explain import sheet_lines
from knowledge.judging.judgement import Judgement
from knowledge.judging.rules import RULES
from knowledge.jug.question import JugQuestion

AXLE_OILS = {"gl-5", "gl-4-gl-5", "gl-5-limited-slip"}
LINED = ("paper", "carbon")
METAL = ("bronze", "molybdenum", "sintered")
STREET = {"coldest_start_c": 0.0}
STRIP = "copper strip of 2a or better at 121 °C"


@pytest.fixture
def verdicts(judge, base):
    """The verdict on every class for a box, by its id."""
    return lambda box: {oil.id: judge(**box).verdict(place) for place, oil in enumerate(base.lubricants)}


@pytest.fixture
def serving(verdicts):
    """The classes that nothing refuses in a box, with how they fit."""
    return lambda box: {id: verdict for id, verdict in verdicts(box).items() if verdict != "does-not-fit"}


@pytest.fixture
def graves(judge):
    """The families of which some rule says something grave in a box."""

    def of_box(box) -> set[str]:
        judged = judge(**box).judged
        return {
            oil.family.id
            for place, oil in enumerate(judged.lubricants.rows)
            for rule in range(len(RULES))
            if judged.outcomes.of_rules[rule].is_grave[judged.only_outcome(rule, place)[0]]
        }

    return of_box


@pytest.fixture
def asks(judge, place_of):
    """What the rules ask the data sheet of a class to show in a box."""

    def lines(box, id) -> set[str]:
        judged = judge(**box).judged
        return set(sheet_lines(judged, place_of[id]))

    return lines


@pytest.fixture
def cares(judge, place_of):
    """What a class wants care for in a box: the rules, with what they say."""
    return lambda box, id: {note.rule: note.text for note in judge(**box).care(place_of[id])}


@pytest.mark.parametrize("facing", LINED)
def test_axle_oil_and_mt_1_on_a_lining_are_grave_and_a_limit_of_ours_is_not(box, graves, facing) -> None:
    assert graves(box(facing)) == AXLE_OILS | {"mt-1"}


@pytest.mark.parametrize("facing", [*METAL, None])
def test_nothing_is_grave_without_a_lining(box, graves, facing) -> None:
    assert graves(box(facing)) == set()


@pytest.mark.parametrize("facing", [*METAL, *LINED])
@pytest.mark.parametrize("shared", [{"wet_clutch": True}, {"limited_slip": True, "final_drive": "helical"}])
def test_beside_rings_and_a_clutch_in_one_oil_only_what_the_book_names_is_left(box, serving, facing, shared) -> None:
    assert serving(box(facing, **STREET, **shared)) == {}
    named = {"family": "atf", "grade": "standard viscosity"}
    assert set(serving(box(facing, **STREET, **shared, service_data=named))) == {"atf-standard"}


@pytest.mark.parametrize("facing", ["bronze", "sintered", *LINED])
def test_beside_hypoid_gears_yellow_metal_and_linings_leave_nothing_without_a_book(box, serving, facing) -> None:
    assert serving(box(facing, **STREET, final_drive="hypoid")) == {}


def test_beside_hypoid_gears_molybdenum_leaves_axle_oil_with_care(box, serving, base) -> None:
    found = serving(box("molybdenum", **STREET, final_drive="hypoid"))
    assert {base.lubricant_rows[id].family for id in found} == {"gl-5", "gl-4-gl-5"}
    assert set(found.values()) == {"fits-with-care"}


@pytest.mark.parametrize("facing", ["molybdenum", None])
def test_hypoid_gears_beside_yellow_metal_that_is_no_ring_leave_axle_oil_with_a_good_strip(
    box, verdicts, cares, facing
) -> None:
    hypoid = box(facing, **STREET, final_drive="hypoid", yellow_metal=True)
    assert verdicts(hypoid)["gl-5-75w-90"] == "fits-with-care"
    assert STRIP in cares(hypoid, "gl-5-75w-90")["full-ep-additives-attack-yellow-metal"]


def test_a_wet_clutch_without_rings_takes_engine_oil_and_nothing_else(box, serving, base, asks) -> None:
    wet = box(None, **STREET, wet_clutch=True)
    assert {(base.lubricant_rows[id].family, verdict) for id, verdict in serving(wet).items()} == {
        ("engine-oil", "fits")
    }
    assert "fuel-saving" in asks(wet, "engine-oil-10w-40").pop()


def test_a_hypoid_drive_with_a_clutch_pack_and_no_rings_takes_limited_slip_oil(box, serving, base) -> None:
    found = serving(box(None, **STREET, final_drive="hypoid", limited_slip=True))
    by_family = {(base.lubricant_rows[id].family, verdict) for id, verdict in found.items()}
    assert by_family == {("gl-5-limited-slip", "fits")}


@pytest.mark.parametrize("drive", ["none", "hypoid"])
def test_gl_5_that_the_book_names_beside_yellow_metal_asks_for_the_strip_in_one_voice(
    box, verdicts, cares, drive
) -> None:
    bronze = box("bronze", final_drive=drive, service_data={"family": "gl-5", "grade": "75W-90"})
    assert verdicts(bronze)["gl-5-75w-90"] == "fits-with-care"
    (told,) = cares(bronze, "gl-5-75w-90").items()
    assert told[0] == "full-ep-additives-attack-yellow-metal"
    assert STRIP in told[1]


def test_a_hard_working_box_without_rings_takes_mt_1_beside_yellow_metal(box, verdicts) -> None:
    found = verdicts(box(None, yellow_metal=True, duty="towing", sump_hot_c=110.0))
    assert (found["mt-1-50"], found["mt-1-80w-90"], found["gl-5-80w-90"]) == ("fits", "fits", "does-not-fit")


def test_a_crash_box_takes_the_straight_oil_of_its_book(box, verdicts) -> None:
    warm = box(None, coldest_start_c=5.0, yellow_metal=True)
    named = verdicts(warm | {"service_data": {"family": "gl-1", "grade": "140"}})
    assert (named["gl-1-140"], verdicts(warm)["gl-1-140"]) == ("fits", "fits-with-care")
    assert verdicts(warm | {"duty": "towing"})["gl-1-140"] == "does-not-fit"


@pytest.mark.parametrize("facing", LINED)
def test_a_book_overrules_our_limit_on_the_thickness_over_a_lining(box, verdicts, facing) -> None:
    """Some sellers vouch for a 75W-90 on linings; axle oil of the same grade stays out."""
    for family in ("mtf", "gl-4"):
        named = box(facing, coldest_start_c=20.0, service_data={"family": family, "grade": "75W-90"})
        assert verdicts(named)[f"{family}-75w-90"] == "fits"
        assert verdicts(named)["gl-5-75w-90"] == "does-not-fit"


def test_a_band_whose_thin_edge_alone_fails_fits_with_a_line_for_its_sheet(box, asks, base) -> None:
    """The line is enough: a jug of that KV100 surely parts the bearings, and one a little thinner may not."""
    hot = box("molybdenum", duty="towing", sump_hot_c=120.0)
    (line,) = asks(hot, "mtf-75w-75")
    least = float(line.removeprefix("KV100 of at least ").removesuffix(" mm²/s"))
    for kv100, outcomes in ((least, {"additive"}), (least - 0.2, {"thin", "thin-at-its-edge"})):
        jug = JugQuestion.model_validate({"label": {"family": "mtf", "grade": "75W-75"}, "kv100_mm2_s": kv100})
        judged = Judgement.of(FillQuestion.model_validate(hot), base, possible_lubricants(Sheet(jug, base))).judged
        place = [rule.id for rule in RULES].index("bearings-need-viscosity-when-hot")
        assert judged.outcomes.of_rules[place].rows[judged.only_outcome(place, 0)[0]].outcome in outcomes
