"""Running-in and first change after a rebuild, and how often to change from then on."""

import math
import tomllib
from pathlib import Path

import pytest

from knowledge.box.question import FillQuestion
from knowledge.drain.rows import RunningInRow
from knowledge.drain.upkeep import Upkeep, upkeep, upkeep_of_box

GOLDEN = Path(__file__).parents[2] / "golden" / "drain.toml"
CASES = tomllib.loads(GOLDEN.read_text(encoding="utf-8"))["interval"]


@pytest.fixture
def kept(base, oil):
    """How a box on the street with new bronze rings is kept, varied by the arguments."""

    def of(id: str = "mtf-75w-80", **changes) -> Upkeep:
        plain = {"duty": "street", "sump_hot_c": None, "book_km": None, "facings": ("bronze",), "is_new_rings": True}
        return upkeep(oil(id), **{**plain, "is_shared_with_engine": False, **changes}, base=base)

    return of


def ends(limits) -> list[float] | None:
    return limits and [limits.min, limits.max]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["id"])
def test_a_fill_is_changed_as_often_as_the_trade_does(kept, case) -> None:
    given = {name: case[name] for name in ("duty", "sump_hot_c", "book_km") if name in case}
    found = kept(case["of"], is_shared_with_engine=case.get("shared", False), **given)
    assert ends(found.interval_km) == case.get("km")
    assert "years" not in case or ends(found.interval_years) == case["years"]
    assert "first" not in case or ends(found.first_change_km) == case["first"]
    assert case.get("says", "") in found.because
    assert found.standing == "common-practice"


@pytest.mark.parametrize("sump_hot_c", [111, 117.5, 125, 140])
def test_oil_ages_by_a_rate_that_doubles_with_every_ten_degrees(kept, sump_hot_c) -> None:
    """By the exponential form of the same rule: a rate of exp(ln 2 · dT/10)."""
    rate = math.exp(math.log(2) * (sump_hot_c - 110) / 10)
    assert kept(book_km=90_000, sump_hot_c=sump_hot_c).interval_km.max == pytest.approx(90_000 / rate, rel=5e-3)


def test_every_class_has_an_interval_for_every_duty(base, kept) -> None:
    for id in base.lubricant_rows:
        for duty in (None, *base.duties):
            found = kept(id, duty=duty)
            assert found.interval_km or found.because.count(":") == 1


def test_every_facing_is_run_in_by_words_of_its_own_kind(base, kept) -> None:
    *own, _ = base.rows(RunningInRow)
    assert all(any(row.is_of((id,), (facing.kind,)) for row in own) for id, facing in base.facings.items())
    assert "800 km" in kept(facings=("bronze", "carbon")).running_in
    assert "Soak" in kept(facings=("paper",)).running_in
    assert kept(facings=None, is_new_rings=None).running_in.startswith("If the rings are new: ")


@pytest.mark.parametrize("old", [{"facings": ()}, {"is_new_rings": False}])
def test_without_new_rings_nothing_is_run_in(kept, old) -> None:
    found = kept(**old)
    assert found.first_change_km is found.running_in is None


def test_a_box_says_what_it_knows_of_itself(base, oil, box) -> None:
    book = {"family": "mtf", "interval_km": 70_000}
    asked = FillQuestion.model_validate(box("paper", service_data=book, sump_hot_c=120))
    assert ends(upkeep_of_box(oil("mtf-75w-80"), asked, base).interval_km) == [35_000, 35_000]
    nothing = upkeep_of_box(oil("mtf-75w-80"), FillQuestion(), base)
    assert nothing.first_change_km
    assert "nobody knows" in nothing.because
