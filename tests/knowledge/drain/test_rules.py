"""What the rules say of an old fluid that stays in the box."""

import pytest

from knowledge.drain.compute import compute_drain_answer
from knowledge.drain.question import DrainQuestion
from knowledge.drain.rows import MixingRow
from knowledge.drain.rules import full_ep_left_over_reaches_yellow_metal, limited_slip_left_over_reaches_the_rings

COPPER = "full-ep-left-over-reaches-yellow-metal"
SLIP = "limited-slip-left-over-reaches-the-rings"
LINING = "gear-oil-left-over-stays-in-a-lining"
ENGINE = "engine-oil-and-mt-1-do-not-mix"
KINDS = "different-kinds-share-the-sump"
ESTIMATE = "mixture-viscosity-is-an-estimate"


@pytest.fixture
def says(base):
    """What a rule says of draining an old family out; None when it is not concerned."""

    def found(rule, old=None, new="mtf", **fields):
        fluids = {name: {"family": it} if isinstance(it, str) else it for name, it in (("old", old), ("new", new))}
        asked = {"capacity_l": 2, "drained_l": 1.6, **fluids, **fields}
        answer = compute_drain_answer(DrainQuestion.model_validate(asked), base, detail="full")
        return next((item for item in answer.findings if item.rule == rule), None)

    return found


def test_sulfur_left_beside_yellow_metal_is_warned_of_until_little_is_left(says, box) -> None:
    assert says(COPPER, "gl-5", question=box("bronze"), rounds=1).effect == "cautions"
    assert says(COPPER, "gl-5", question=box("bronze"), rounds=3).effect == "supports"


@pytest.mark.parametrize(
    ("drained", "text"),
    [(8.4, "16 %"), (9.04, "9.6 %"), (9.004, "10 %"), (9.46, "5.4 %"), (9.496, "A little more than 5 %")],
)
def test_what_stays_reads_in_plain_digits_and_apart_from_its_limit(says, box, drained, text) -> None:
    """Of 10 litres: what is not drained stays, by hand."""
    finding = says(COPPER, "gl-5", question=box("bronze"), capacity_l=10, drained_l=drained, rounds=1)
    assert finding.effect == "cautions"
    assert finding.text.startswith(f"{text} of the GL-5")
    assert finding.text.endswith("no more than 5 % is left.")


@pytest.mark.parametrize(("capacity", "drained"), [(10, 9.5), (2, 1.9), (4, 3.8), (1.4, 1.33)])
def test_a_limit_that_is_met_exactly_is_met(says, box, capacity, drained) -> None:
    """A twentieth stays, which is the limit itself."""
    finding = says(COPPER, "gl-5", question=box("bronze"), capacity_l=capacity, drained_l=drained, rounds=1)
    assert finding.effect == "supports"


@pytest.mark.parametrize(("old", "new"), [("gl-4", "mtf"), ("gl-5", "gl-5"), (None, "mtf")])
def test_a_mild_old_oil_or_a_strong_new_one_leaves_nothing_to_warn_of(says, box, old, new) -> None:
    assert says(COPPER, old, new, question=box("bronze"), rounds=1) is None


def test_without_yellow_metal_there_is_nothing_to_attack(says, box) -> None:
    assert says(COPPER, "gl-5", question=box("molybdenum"), rounds=1) is None


def test_in_a_box_that_nobody_described_the_finding_says_when_it_bites(says) -> None:
    finding = says(COPPER, "gl-5", rounds=1)
    assert finding.effect == "cautions"
    assert "yellow metal" in finding.only_if
    assert 0 < finding.share_of_worlds < 1


@pytest.mark.parametrize(("share", "effect"), [(0.02, "supports"), (0.0201, "cautions")])
def test_no_more_than_the_share_that_may_stay_is_little_enough(base, share, effect) -> None:
    """2 % of a limited-slip oil, 5 % of a full extreme-pressure one: common practice, no source."""
    slip = {"facings": ("bronze",), "old_is_limited_slip": True, "left_share": share}
    assert limited_slip_left_over_reaches_the_rings.judge(**slip, may_stay=0.02).effect == effect
    families = {"old_family": base.families["gl-5"], "new_family": base.families["mtf"]}
    copper = {"copper_parts": ("bronze rings",), **families, "left_share": share * 2.5}
    assert full_ep_left_over_reaches_yellow_metal.judge(**copper, may_stay=0.05).effect == effect


def test_a_limited_slip_residue_is_warned_of_under_rings_only(says, box) -> None:
    assert says(SLIP, "gl-5-limited-slip", question=box("molybdenum"), rounds=1).effect == "cautions"
    assert says(SLIP, {"family": "gl-4", "limited_slip": True}, question=box("paper"), rounds=1).effect == "cautions"
    assert says(SLIP, "gl-5-limited-slip", question=box("molybdenum"), rounds=3).effect == "supports"
    assert says(SLIP, "gl-5-limited-slip", question=box(None), rounds=1) is None
    assert says(SLIP, "gl-4", question=box("molybdenum"), rounds=1) is None


@pytest.mark.parametrize(("facing", "is_warned_of"), [("paper", True), ("carbon", True), ("bronze", False)])
def test_a_lining_keeps_what_it_soaked_up(says, box, facing, is_warned_of) -> None:
    assert (says(LINING, "gl-5", question=box(facing)) is not None) == is_warned_of


@pytest.mark.parametrize(("old", "new"), [("engine-oil", "mt-1"), ("mt-1", "engine-oil")])
def test_engine_oil_and_mt_1_are_not_mixed(says, old, new) -> None:
    """API 1560 says of MT-1: do not mix with engine oil in the unit."""
    assert says(ENGINE, old, new, rounds=5).effect == "cautions"
    assert says(ENGINE, old, "gl-4", rounds=5) is None


def test_another_kind_is_told_with_how_much_of_it_does_no_harm(says) -> None:
    """Common practice, no source: a quarter among harmless neighbours, a twentieth of axle oil."""
    assert says(KINDS, "gl-4", rounds=1).effect == "supports"
    assert says(KINDS, "gl-4", drained_l=1.4, rounds=1).text == "30 % of GL-4 in MTF: up to 25 % does no harm."
    assert says(KINDS, "gl-5", rounds=1).text == "20 % of GL-5 in MTF: up to 5 % does no harm."
    assert says(KINDS, "mtf").effect == "supports"
    assert says(KINDS).effect == "no-data"


def test_a_computed_mixture_is_always_called_an_estimate(says) -> None:
    finding = says(ESTIMATE, {"kv100_mm2_s": 15}, {"kv100_mm2_s": 9})
    assert finding.text.startswith("Estimate only: the blending rules exclude viscosity improvers")
    assert says(ESTIMATE).effect == "no-data"


@pytest.mark.parametrize(
    ("rule", "old", "row"),
    [(COPPER, "gl-5", "axle-oil-in-milder-oil"), (KINDS, "atf", "red-oil-and-synchro-fluid")],
)
def test_a_finding_names_the_limit_it_was_held_against_as_the_table_has_it(says, box, base, rule, old, row) -> None:
    (limit,) = says(rule, old, question=box("bronze"), rounds=1).limits
    held = next(item for item in base.rows(MixingRow) if item.id == row)
    assert (limit.id, limit.value, limit.unit, limit.standing) == (row, held.may_stay_share, "1", held.standing)
