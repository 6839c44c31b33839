"""The cold side: flow and first shifts at the coldest start."""

import math
from dataclasses import replace

import pytest

FLOW = "cold-start-needs-oil-that-flows"
SHIFT = "cold-first-shifts-need-the-film-wiped"


@pytest.mark.parametrize(
    ("id", "limit"), [("mtf-70w-75", -55), ("gl-4-75w-90", -40), ("gl-4-80w-90", -26), ("gl-4-85w-140", -12)]
)
def test_a_w_grade_starts_down_to_its_limit_and_no_further(box, finds, id, limit) -> None:
    """SAE J306, 150 000 mPa·s."""
    if limit >= -50:
        at = finds(box("bronze", coldest_start_c=float(limit)), id, FLOW)
        below = finds(box("bronze", coldest_start_c=limit - 0.1), id, FLOW)
        assert (at.effect, below.effect) == ("supports", "excludes")
        assert f"{limit} °C" in below.text
    else:
        assert finds(box("bronze", coldest_start_c=-50.0), id, FLOW).effect == "supports"


@pytest.mark.parametrize(
    ("id", "limit"), [("engine-oil-5w-30", -35), ("engine-oil-10w-30", -30), ("engine-oil-15w-40", -25)]
)
def test_an_engine_oil_starts_down_to_its_pumping_limit(box, finds, id, limit) -> None:
    """SAE J300, pumping temperature of the W grade."""
    assert finds(box("bronze", coldest_start_c=float(limit)), id, FLOW).effect == "supports"
    assert finds(box("bronze", coldest_start_c=limit - 1.0), id, FLOW).effect == "excludes"


@pytest.mark.parametrize(
    ("coldest", "effect", "words"), [(-20.0, "no-data", "data sheet"), (10.0, "supports", "none is called for")]
)
def test_an_oil_whose_cold_limit_nobody_measured_is_not_guessed_at(
    box, finds_of_oil, oil, coldest, effect, words
) -> None:
    unknown = replace(oil("gl-4-75w-90"), cold_limit_c=None)
    finding = finds_of_oil(box("bronze", coldest_start_c=coldest), unknown, FLOW)
    assert finding.effect == effect
    assert words in finding.text


@pytest.mark.parametrize("coldest", [-50.0, -30.0, -10.0])
def test_a_stiff_first_shift_is_a_note_and_speaks_against_no_oil(base, box, finds, coldest) -> None:
    for row in base.lubricants:
        finding = finds(box("paper", coldest_start_c=coldest), row.id, SHIFT)
        thicker_than_computed = "thicker than can be computed" in finding.text
        assert (finding.effect, finding.severity) == (
            ("cautions", "warning") if thicker_than_computed else ("supports", "note")
        )


def test_first_shifts_are_told_in_three_steps_with_a_spread(box, finds) -> None:
    """Steps at 60 and 250 ms: our judgement, typed again here."""
    words = {0.060: "hardly noticed.", 0.250: "notchy until it warms.", math.inf: "warm the oil first."}
    met = set()
    for coldest in range(-40, 31, 2):
        finding = finds(box("bronze", condition="worn", coldest_start_c=float(coldest)), "mtf-75w-80", SHIFT)
        time = next(figure for figure in finding.figures if figure.name == "wiping_time_s")
        middle, said = math.sqrt(time.min * time.max), finding.text
        met |= {step for step in words if said.endswith(words[step])}
        assert said.endswith(next(text for edge, text in words.items() if middle <= edge))
        assert math.sqrt(time.max / time.min) > 3  # of a thread, before the oil's own
        assert ("needs over 250 ms" in said) == (middle > 0.250)
    assert met == set(words)


def test_several_cones_clear_cold_oil_worse(box, figure) -> None:
    """abdel-halim-2000, abstract: better than a single cone but at 0 °C, the cold end of its rig tests."""
    times = [
        figure(box("bronze", cones=cones, coldest_start_c=0.0), "gl-4-80w-90", "wiping_time_s").max
        for cones in (1, 2, 3)
    ]
    assert times == sorted(set(times))


def test_more_cones_pull_harder_against_the_drag(box, finds) -> None:
    """Cone torque goes with the number of cones (naunheimer-2011): what is drag for one is film for three."""
    one, three = (finds(box("bronze", cones=cones, coldest_start_c=-20.0), "mtf-75w-80", SHIFT) for cones in (1, 3))
    assert "drag" in one.text
    assert "drag" not in three.text


def test_figures_below_freezing_are_marked_as_screening(box, figure) -> None:
    frost, mild = (figure(box("bronze", coldest_start_c=at), "gl-4-75w-90", "wiping_time_s") for at in (-10.0, 10.0))
    assert frost.screening
    assert not mild.screening


def test_a_box_without_rings_wipes_no_film(box, figure) -> None:
    assert figure(box(None), "gl-4-75w-90", "wiping_time_s") is None
    assert figure(box(None), "gl-4-75w-90", "shifts_freely_above_c") is None


@pytest.fixture
def freely_above(box, figure):
    """The thick edge of the temperature from which first shifts come freely."""
    return lambda facing, condition, id: (
        figure(box(facing, condition=condition, coldest_start_c=0.0), id, "shifts_freely_above_c").max
    )


def test_thinner_oil_shifts_freely_from_a_colder_start(freely_above) -> None:
    """The order in which the trade expects them; the levels are judgement."""
    for facing, condition, ids in (
        ("bronze", "new", ("gl-4-75w-90", "gl-4-80w-90", "gl-4-85w-140")),
        ("bronze", "worn", ("gl-4-75w-90", "gl-4-80w-90", "gl-4-85w-140")),
        ("sintered", "new", ("gl-4-75w-90", "gl-4-80w-90", "gl-4-85w-140")),
        ("paper", "new", ("atf-standard", "mtf-75w-75", "mtf-75w-80", "gl-4-75w-90", "gl-4-80w-90")),
    ):
        above = [freely_above(facing, condition, id) for id in ids]
        assert above == sorted(above)
        assert len(set(above)) == len(above)


@pytest.mark.parametrize("facing", ["bronze", "molybdenum", "sintered", "paper", "carbon"])
@pytest.mark.parametrize("id", ["gl-4-75w-90", "mtf-75w-80"])
def test_a_worn_ring_wipes_more_slowly_than_a_new_one(box, figure, freely_above, facing, id) -> None:
    new, worn = (
        figure(box(facing, condition=condition, coldest_start_c=-10.0), id, "wiping_time_s").max
        for condition in ("new", "worn")
    )
    assert worn > new
    assert freely_above(facing, "worn", id) >= freely_above(facing, "new", id)


def test_new_threads_do_what_drivers_report(box, finds) -> None:
    """Common practice, no source: new boxes notchy from 0 to -10 °C on 80W-90, fine on 75W-80 to about -20."""
    told = ((-5.0, "gl-4-80w-90", "notchy until it warms."), (-15.0, "mtf-75w-80", "hardly noticed."))
    for coldest, id, words in told:
        assert finds(box("bronze", coldest_start_c=coldest), id, SHIFT).text.endswith(words)


def test_the_start_of_free_shifts_is_where_the_wiping_time_reaches_its_limit(box, figure, freely_above, base) -> None:
    """Of a worn thread, which drag does not hold up first; at the far end of the spread."""
    above = freely_above("bronze", "worn", "gl-4-80w-90")
    slowest = figure(box("bronze", condition="worn", coldest_start_c=above), "gl-4-80w-90", "wiping_time_s").max
    assert slowest == pytest.approx(base.limit("wiping-time-slow-from"), rel=0.15)


def test_where_the_formula_ends_nothing_is_told_beyond_it(box, finds) -> None:
    """ASTM D1250 ends at -50 °C."""
    big = {"mean_radius_mm": 60.0, "detent_force_n": 1500.0}
    stated = box("carbon", cones=3, coldest_start_c=0.0, ring_geometry=big)
    assert "even below -50 °C" in finds(stated, "atf-low-viscosity", "first-shifts-come-freely-once-warm-enough").text
