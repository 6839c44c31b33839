"""The cold side: flow and first shifts at the coldest start."""

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
def test_a_stiff_first_shift_warns_and_never_refuses(base, box, finds, coldest) -> None:
    found = [finds(box("paper", coldest_start_c=coldest), row.id, SHIFT) for row in base.lubricants]
    assert "excludes" not in {finding.effect for finding in found}
    assert {finding.severity for finding in found} <= {"note", "warning"}


def test_a_first_shift_that_is_noticed_tells_its_time_and_how_far_it_is_from_stiff(base, box, finds) -> None:
    """Bands of 20 and 60 ms: our judgement, typed again here."""
    told = [finds(box("bronze", coldest_start_c=-20.0), row.id, SHIFT) for row in base.lubricants]
    noticed = [finding for finding in told if finding.text.endswith("noticeable, not stiff.")]
    assert noticed
    for finding in noticed:
        slowest_s = {figure.name: figure.max for figure in finding.figures}["wiping_time_s"]
        assert 0.020 < slowest_s <= 0.060
        assert finding.margin == pytest.approx(0.060 / slowest_s, rel=1e-3)


def test_a_noticeable_first_shift_is_neither_easy_nor_stiff(box, finds) -> None:
    between = {
        finds(box("paper", coldest_start_c=float(coldest)), "mtf-75w-75", SHIFT).text.rpartition(": ")[2]
        for coldest in range(-30, 31, 2)
    }
    assert {"hardly noticed.", "noticeable, not stiff."} <= between
    assert any("stiff first shifts" in text for text in between)


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
def test_a_worn_ring_needs_a_warmer_oil_than_a_new_one(freely_above, facing, id) -> None:
    assert freely_above(facing, "worn", id) > freely_above(facing, "new", id)


def test_a_lining_needs_a_warmer_oil_than_sharp_bronze(freely_above) -> None:
    paper, bronze = (freely_above(facing, "new", "mtf-75w-80") for facing in ("paper", "bronze"))
    assert paper > bronze


def test_the_start_of_free_shifts_is_where_the_wiping_time_reaches_its_limit(box, figure, freely_above, base) -> None:
    above = freely_above("paper", "new", "gl-4-80w-90")
    slowest = figure(box("paper", coldest_start_c=above), "gl-4-80w-90", "wiping_time_s").max
    assert slowest == pytest.approx(base.limit("wiping-time-baulk-from"), rel=0.01)
