"""The table of one fluid in another has a row for whatever is asked, and asks no more than is needed."""

from itertools import product

import pytest

from knowledge.box.question import FillQuestion
from knowledge.drain.mixing import Fluid, Mixing
from knowledge.drain.rows import MixingRow


@pytest.fixture
def mixing(base, box):
    """One family in another, in a box with these rings; None is not known."""

    def of(added: str | None, in_it: str | None, facing: str | None = None, **changes) -> Mixing:
        fluids = [Fluid(base.families[id], base.families[id].limited_slip) if id else Fluid() for id in (added, in_it)]
        question = box(None if facing == "none" else facing, **changes) if facing else {}
        return Mixing.of(*fluids, FillQuestion.model_validate(question), base)

    return of


def test_every_pair_of_fluids_comes_under_a_row_and_every_row_is_of_use(base, mixing) -> None:
    used: set[str] = set()
    boxes = (None, "paper", "bronze", "none")
    for added, in_it, facing, clutch in product((None, *base.families), (None, *base.families), boxes, (True, False)):
        found = mixing(added, in_it, facing, wet_clutch=clutch) if facing else mixing(added, in_it)
        assert found.rows
        assert found.is_same_kind == (added == in_it is not None)
        used |= {row.id for row in found.rows}
    assert used == {row.id for row in base.rows(MixingRow)}


def test_what_is_not_known_never_allows_more_than_what_might_be(base, mixing) -> None:
    for added, in_it in product(base.families, base.families):
        known = [mixing(added, in_it, facing) for facing in ("paper", "bronze", "none")]
        assert mixing(added, in_it).may_stay.value == min(it.may_stay.value for it in known)
        assert mixing(None, in_it, "paper").may_stay.value <= known[0].may_stay.value
        assert mixing(added, None, "paper").may_stay.value <= known[0].may_stay.value


def test_what_would_tell_is_named(mixing) -> None:
    assert mixing("gl-5", None, "bronze").unknown == ("what is in it",)
    assert mixing(None, "mtf", "none").unknown == ("what was poured in",)
    assert mixing("gl-5", "gl-4").unknown == ("whether the rings are lined",)
    assert mixing("gl-5", "gl-4", "bronze").unknown == ()


def test_rings_of_two_kinds_count_as_lined(base) -> None:
    """Common practice, no source: the most delicate ring decides."""
    rings = {"rings": [{"facing": "bronze"}, {"facing": "paper"}]}
    fluids = [Fluid(base.families[id], False) for id in ("gl-5", "gl-4")]
    assert Mixing.of(*fluids, FillQuestion.model_validate(rings), base).strictest.id == "axle-oil-on-linings"
