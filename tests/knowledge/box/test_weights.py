"""How often the trade meets what is unknown: the estimates of one rebuilder's counter; common practice, no source."""

import numpy as np
import pytest

from knowledge.box.cases import Cases
from knowledge.box.question import FillQuestion
from knowledge.box.weights import by_kind, how_often, kind_shares
from knowledge.loading.custom_rows import BoxKindRow


def percent(base, name: str, **stated) -> dict:
    """What each value of an open field weighs, in percent."""
    cases = Cases.of(FillQuestion.model_validate(stated), base)
    axis, field = next(item for item in cases.open if item[1].name == name)
    weights = 100 * np.bincount(field.value_of, cases.axes[axis].weights)
    return dict(zip(field.values, weights.tolist(), strict=True))


@pytest.mark.parametrize(
    ("name", "known", "within"),
    [
        ("rings", {"none": 6, "bronze": 55, "molybdenum": 10, "sintered": 13, "paper": 7, "carbon": 9}, 1),
        ("final_drive", {"none": 51, "helical": 44, "hypoid": 5}, 1.5),
        ("duty", {"street": 64, "highway": 22, "towing": 9, "competition": 5}, 3.5),
        ("yellow_metal", {True: 91, False: 9}, 1),
        ("limited_slip", {True: 3, False: 97}, 1.5),
    ],
)
def test_of_a_box_of_which_nothing_is_known_the_counter_meets_this(base, name, known, within) -> None:
    # Asked for apart from the kinds of box; the counter rounds to whole percents.
    assert percent(base, name) == pytest.approx(known, abs=within)


def test_kinds_of_box_are_as_likely_as_what_is_stated_is_met_in_them(base) -> None:
    # Bayes by hand, over the three eras of boxes whose engine stands across: 5, 12 and 24 callers of 100, of which
    # 0, 1 and 16 percent have carbon rings: 0.12 and 3.84, or 1 in 33 and 32 in 33.
    shares = kind_shares("front-drive", {"facing": "carbon"}, base)
    assert shares == pytest.approx(
        {"front-drive-before-1985": 0, "front-drive-1985-2000": 1 / 33, "front-drive-after-2000": 32 / 33}
    )
    # In the second 26 percent are on the highway, and so are they in the third.
    assert by_kind("duty", shares, base)["highway"] == pytest.approx(26)


def test_where_what_is_stated_is_met_nowhere_the_kinds_are_alike(base) -> None:
    assert kind_shares("heavy-truck", {"facing": "paper"}, base) == {"heavy-truck": 1}
    assert set(kind_shares("front-drive", {"final_drive": "none"}, base).values()) == {1 / 3}


def test_the_shares_of_every_table_come_to_a_hundred(base) -> None:
    rows = [row for row in base.rows(BoxKindRow) if row.callers_percent is not None]
    assert sum(row.callers_percent for row in rows) == pytest.approx(100)
    for row in rows:
        for of in (row.facing_percent, row.final_drive_percent, row.duty_percent):
            assert sum(of.values()) == pytest.approx(100), row.id
    for facing in base.facings:
        for field, values in (("cones", (1, 2, 3)), ("body", base.bodies), ("yellow_metal", (True, False))):
            shares = [how_often(field, value, {"facing": facing}, base) for value in values]
            assert sum(shares) == pytest.approx(1), (field, facing)


def test_rings_of_a_body_or_without_yellow_metal_are_of_the_facings_that_have_it(base) -> None:
    assert percent(base, "rings", yellow_metal=False).keys() == {"none", "molybdenum", "paper", "carbon"}
    ring = {"cones": 1, "condition": "worn"}
    assert "bronze" not in percent(base, "facing", rings=[{**ring, "body": "steel"}])
    # Bayes by hand: 42 : 6 : 27 : 9 : 16 of boxes of after 2000, of which 3, 1, 20, 15 and 25 percent have three cones.
    found = percent(base, "facing", box_kind="front-drive-after-2000", rings=[{"cones": 3, "condition": "worn"}])
    counted = {"bronze": 1.26, "molybdenum": 0.06, "sintered": 5.4, "paper": 1.35, "carbon": 4.0}
    assert found == pytest.approx({facing: 100 * share / 12.07 for facing, share in counted.items()})


def test_what_the_trade_never_meets_is_tried_only_where_nothing_else_is_left(base) -> None:
    assert {*percent(base, "final_drive", box_kind="front-drive")} == {"helical", "hypoid"}
    assert {*percent(base, "facing", box_kind="heavy-truck", rings=[{}])} == {*base.facings}
