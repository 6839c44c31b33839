"""The cold side: flow and first shifts at the coldest start."""

from dataclasses import replace

import pytest

from knowledge.judging.rules.cold import cold_start_needs_oil_that_flows

FLOW = "cold-start-needs-oil-that-flows"
SHIFT = "cold-first-shifts-need-the-film-wiped"
FREE = "first-shifts-come-freely-once-warm-enough"


@pytest.mark.parametrize(
    ("id", "limit"), [("mtf-70w-75", -55), ("gl-4-75w-90", -40), ("gl-4-80w-90", -26), ("gl-4-85w-140", -12)]
)
def test_a_w_grade_starts_down_to_its_limit_and_no_further(ask, box, says, id, limit) -> None:
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
def test_an_engine_oil_starts_down_to_its_pumping_limit(ask, box, says, id, limit) -> None:
    """SAE J300, pumping temperature of the W grade."""
    assert finds(box("bronze", coldest_start_c=float(limit)), id, FLOW).effect == "supports"
    assert finds(box("bronze", coldest_start_c=limit - 1.0), id, FLOW).effect == "excludes"


def test_an_oil_whose_cold_limit_nobody_measured_is_not_guessed_at(base, oil) -> None:
    unknown = replace(oil("gl-4-75w-90"), cold_limit_c=None)
    said = cold_start_needs_oil_that_flows.judge(coldest_start_c=-20.0, oil=unknown, base=base)
    assert said.effect == "no-data"
    assert "data sheet" in said.text


def test_a_stiff_first_shift_warns_and_never_refuses(ask, box, says) -> None:
    for coldest in (-50.0, -30.0, -10.0):
        answer = ask(**box("paper", coldest_start_c=coldest))
        effects = {says(answer, item.lubricant.id, SHIFT).effect for item in answer.candidates}
        assert "excludes" not in effects
        assert {says(answer, item.lubricant.id, SHIFT).severity for item in answer.candidates} <= {"note", "warning"}


def test_a_first_shift_that_is_noticed_tells_its_time_and_how_far_it_is_from_stiff(ask, box, says) -> None:
    """Bands of 20 and 60 ms: our judgement, typed again here."""
    answer = ask(**box("bronze", coldest_start_c=-20.0))
    told = [says(answer, item.lubricant.id, SHIFT) for item in answer.candidates]
    noticed = [finding for finding in told if finding.text.endswith("noticeable, not stiff.")]
    assert noticed
    for finding in noticed:
        slowest_s = {figure.name: figure.max for figure in finding.figures}["wiping_time_s"]
        assert 0.020 < slowest_s <= 0.060
        assert finding.margin == pytest.approx(0.060 / slowest_s, rel=1e-3)


@pytest.mark.parametrize(
    ("facing", "id", "coldest", "effect", "words"),
    [
        ("bronze", "mtf-75w-80", 10.0, "supports", "hardly noticed"),
        ("bronze", "gl-4-85w-140", -25.0, "cautions", "stiff first shifts"),
        ("paper", "gl-4-80w-90", -20.0, "cautions", "stiff first shifts"),
    ],
)
def test_a_first_shift_is_as_stiff_as_its_film_is_slow(ask, box, says, facing, id, coldest, effect, words) -> None:
    finding = finds(box(facing, coldest_start_c=coldest), id, SHIFT)
    assert finding.effect == effect
    assert words in finding.text
    assert facing in finding.text


def test_a_noticeable_first_shift_is_neither_easy_nor_stiff(ask, box, says) -> None:
    between = {
        finds(box("paper", coldest_start_c=float(coldest)), "mtf-75w-75", SHIFT).text.rpartition(": ")[2]
        for coldest in range(-30, 31, 2)
    }
    assert {"hardly noticed.", "noticeable, not stiff."} <= between
    assert any("stiff first shifts" in text for text in between)


def test_an_oil_thicker_than_can_be_computed_is_told_of(ask, box, says) -> None:
    text = finds(box("paper", coldest_start_c=-50.0), "gl-1-140", SHIFT)
    assert text.effect == "cautions"


def test_figures_below_freezing_are_marked_as_screening(ask, box, of) -> None:
    frost, mild = ask(**box("bronze", coldest_start_c=-10.0)), ask(**box("bronze", coldest_start_c=10.0))
    assert of(frost, "gl-4-75w-90").figures.wiping_time_s.screening
    assert not of(mild, "gl-4-75w-90").figures.wiping_time_s.screening


def test_a_box_without_rings_wipes_no_film(ask, box, of, says) -> None:
    answer = ask(**box(None))
    assert of(answer, "gl-4-75w-90").figures.wiping_time_s is None
    assert of(answer, "gl-4-75w-90").figures.shifts_freely_above_c is None
    assert {says(answer, "gl-4-75w-90", rule).effect for rule in (SHIFT, FREE)} == {"supports"}


def freely_above(ask, box, of, facing: str, condition: str, id: str) -> float:
    """The thick edge of the temperature from which first shifts come freely."""
    answer = ask(**box(facing, condition=condition, coldest_start_c=0.0))
    return of(answer, id).figures.shifts_freely_above_c.max


def test_thinner_oil_shifts_freely_from_a_colder_start(ask, box, of) -> None:
    """The order in which the trade expects them; the levels are judgement."""
    for facing, condition, ids in (
        ("bronze", "new", ("gl-4-75w-90", "gl-4-80w-90", "gl-4-85w-140")),
        ("bronze", "worn", ("gl-4-75w-90", "gl-4-80w-90", "gl-4-85w-140")),
        ("sintered", "new", ("gl-4-75w-90", "gl-4-80w-90", "gl-4-85w-140")),
        ("paper", "new", ("atf-standard", "mtf-75w-75", "mtf-75w-80", "gl-4-75w-90", "gl-4-80w-90")),
    ):
        above = [freely_above(ask, box, of, facing, condition, id) for id in ids]
        assert above == sorted(above)
        assert len(set(above)) == len(above)


@pytest.mark.parametrize("facing", ["bronze", "molybdenum", "sintered", "paper", "carbon"])
@pytest.mark.parametrize("id", ["gl-4-75w-90", "mtf-75w-80"])
def test_a_worn_ring_needs_a_warmer_oil_than_a_new_one(ask, box, of, facing, id) -> None:
    assert freely_above(ask, box, of, facing, "worn", id) > freely_above(ask, box, of, facing, "new", id)


def test_a_lining_needs_a_warmer_oil_than_sharp_bronze(ask, box, of) -> None:
    paper, bronze = (freely_above(ask, box, of, facing, "new", "mtf-75w-80") for facing in ("paper", "bronze"))
    assert paper > bronze


def test_the_start_of_free_shifts_is_where_the_wiping_time_reaches_its_limit(ask, box, of, base) -> None:
    above = freely_above(ask, box, of, "paper", "new", "gl-4-80w-90")
    answer = ask(**box("paper", coldest_start_c=above))
    slowest = of(answer, "gl-4-80w-90").figures.wiping_time_s.max
    assert slowest == pytest.approx(base.limit("wiping-time-baulk-from"), rel=0.01)
