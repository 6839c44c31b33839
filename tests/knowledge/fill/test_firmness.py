"""Firmness, held against tables that have the drawn figures in their cells, read anew and asked by plain fills."""

import csv
from pathlib import Path

import pytest

from knowledge.assemble import read_knowledge
from knowledge.box.question import FillQuestion
from knowledge.fill.compute import compute_fill_answer
from knowledge.fill.drawn import figures_for
from knowledge.fill.firmness import firmness, leaders_drawn, places_drawn
from knowledge.judging.judgement import Judgement

HOT_AND_COLD = {"rings": [{"facing": "bronze", "body": "bronze", "cones": 1, "condition": "worn"}],
                "yellow_metal": True, "final_drive": "none", "limited_slip": False, "wet_clutch": False,
                "coldest_start_c": -32, "sump_hot_c": 121, "duty": "towing"}  # fmt: skip
LITTLE_KNOWN = {"rings": [{"facing": "bronze"}], "coldest_start_c": -30, "duty": "towing"}
# Where the figure of each kind of row stands: the table, its key columns, and the column that is drawn.
TABLES = {
    "thresholds": (("id",), "value"),
    "defaults": (("part", "quantity"), "value"),
    "facing_limits": (("facing", "quantity"), "value"),
    "duties": (("id",), "sump_hot_c"),
    "lubricants": (("id",), "long_sump_c"),
}


def written(tables: Path, values: dict[str, float]) -> int:
    """Write drawn figures into the cells of the tables; how many were."""
    count = 0
    for name, (keys, column) in TABLES.items():
        path = tables / f"{name}.csv"
        with path.open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        for row in rows:
            id = "/".join(row[key] for key in keys) + ("" if column == "value" else f"/{column}")
            if id in values and row.get("chosen", "true") == "true":
                # Once drawn it is what it is: drawn again it might leave its range.
                row |= {column: repr(values[id]), "spread": "", "distribution": ""}
                count += 1
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, rows[0].keys(), lineterminator="\n")
            writer.writeheader()
            writer.writerows(rows)
    return count


@pytest.mark.parametrize("asked", [HOT_AND_COLD, LITTLE_KNOWN], ids=["stated", "partly stated"])
def test_each_draw_is_led_as_a_fill_from_tables_that_say_so(base, tables, asked) -> None:
    question = FillQuestion.model_validate(asked)
    judgement = Judgement.of(question, base)
    figures = figures_for(judgement)
    places = places_drawn(len(figures), 8, seed=5)
    by_hand = []
    for row in places:
        # Times or divided by the spread, or plus or minus it, as the columns of the tables say.
        drawn = {
            figure.id: figure.value * figure.spread**at if figure.is_factor else figure.value + figure.spread * at
            for figure, at in zip(figures, row.tolist(), strict=True)
        }
        assert written(tables, drawn) == len(figures)
        answer = compute_fill_answer(question, read_knowledge(tables))
        by_hand.append(answer.leader.lubricant.id if answer.leader else None)
    assert leaders_drawn(judgement, figures, places) == by_hand


def test_the_shares_are_those_of_the_draws(base) -> None:
    question = FillQuestion.model_validate(HOT_AND_COLD)
    found = firmness(question, base, seed=11)
    judgement = Judgement.of(question, base)
    figures = figures_for(judgement)
    leaders = leaders_drawn(judgement, figures, places_drawn(len(figures), found.draws, 11))
    assert found.holds == leaders.count(found.leader) / found.draws
    assert found.holds + sum(item.share for item in found.instead) == pytest.approx(1)
    assert (found.word == "close") == (found.holds < 0.9)
    assert found == firmness(question, base, seed=11)
    assert len(found.matters_most) <= 3
    assert bool(found.matters_most) <= bool(found.instead)


def test_no_draw_is_impossible(base) -> None:
    rows = base.thresholds
    for slow, hard in (
        ("wiping-time-slow-from", "wiping-time-hard-from"),
        ("drag-share-slow-from", "drag-share-hard-from"),
        ("bearing-ratio-refused-below", "bearing-ratio-additive-below"),
    ):
        assert rows[slow].drawn_from_to(rows[slow].value)[1] < rows[hard].drawn_from_to(rows[hard].value)[0]
    # SAE J306 sets the edges of grades; they are not drawn.
    figures = {figure.id for figure in figures_for(Judgement.of(FillQuestion(), base))}
    assert figures
    assert figures.isdisjoint({"lining-kv100-below", "lining-gear-oil-kv100-below", "ring-drag-kv100-from"})


def test_a_spread_that_turns_a_band_over_is_a_fault_of_the_table(spoilt, base) -> None:
    row = base.thresholds["wiping-time-slow-from"]
    (fault,) = spoilt("thresholds.csv", f"{row.note},1.4,times", f"{row.note},4,times")
    assert "wiping-time-hard-from" in fault.message


def test_a_spread_says_of_what_kind_it_is(spoilt, base) -> None:
    row = base.thresholds["wiping-time-slow-from"]
    faults = spoilt("thresholds.csv", f"{row.note},1.4,times", f"{row.note},1.4,")
    assert any("spread" in fault.message for fault in faults)
