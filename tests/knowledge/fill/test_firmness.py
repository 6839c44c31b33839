"""Firmness, held against tables that have the drawn figures in their cells, read anew and asked by plain fills."""

import csv
import re
from pathlib import Path

import pytest

from knowledge.assemble import read_knowledge
from knowledge.box.question import FillQuestion
from knowledge.fill.compute import compute_fill_answer
from knowledge.fill.drawn import DrawnFigure, figures_for, leaders_drawn
from knowledge.fill.firmness import FirmnessQuestion, firmness, places_drawn
from knowledge.judging.judgement import Judgement

HOT_AND_COLD = {"rings": [{"facing": "bronze", "body": "bronze", "cones": 1, "condition": "worn"}],
                "yellow_metal": True, "final_drive": "none", "limited_slip": False, "wet_clutch": False,
                "coldest_start_c": -32, "sump_hot_c": 121, "duty": "towing"}  # fmt: skip
LITTLE_KNOWN = {"rings": [{"facing": "bronze"}], "coldest_start_c": -30, "duty": "towing"}
NOTHING_KNOWN = {}
# The tables that have figures to draw, each with the columns that find a row.
TABLES = {
    "thresholds.csv": ("id",),
    "defaults.csv": ("part", "quantity"),
    "duties.csv": ("id",),
    "lubricants.csv": ("id",),
    "ring_lands.csv": ("facing", "condition"),
    "how_often.csv": ("field", "value", "given_value"),
}


def written(tables: Path, values: dict[str, float]) -> int:
    """Write drawn figures into the cells of the tables; how many were."""
    kinds, count = written_kinds((tables / "box_kinds.toml").read_text(encoding="utf-8"), values)
    (tables / "box_kinds.toml").write_text(kinds, encoding="utf-8")
    for name, keys in TABLES.items():
        path = tables / name
        with path.open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        for row in rows:
            key = "/".join(row[key] for key in keys if row[key])
            ids = {column: key if column == "value" and "field" not in row else f"{key}/{column}" for column in row}
            drawn = {column: repr(values[id]) for column, id in ids.items() if id in values}
            if drawn:
                # Once drawn it is what it is: drawn again it might leave its range.
                row |= {**drawn, **{column: "" for column in row if column.endswith(("spread", "distribution"))}}
                count += len(drawn)
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, rows[0].keys(), lineterminator="\n")
            writer.writeheader()
            writer.writerows(rows)
    return count


def written_kinds(text: str, values: dict[str, float]) -> tuple[str, int]:
    """The same of the kinds of box: `callers_percent = 8`, `facing_percent = {none = 5, bronze = 90}`."""
    found, kind, count = [], "", 0
    for line in text.splitlines():
        name, _, shares = line.partition(" = ")
        kind = line.strip("[]") if line.startswith("[") else kind
        if name.endswith("_percent"):
            for entry, share in re.findall(r"(?:([a-z-]+) = )?([0-9.]+)", shares):
                id = "/".join(filter(None, (kind, name, entry)))
                before = f"{entry} = {share}" if entry else share
                count += id in values
                shares = shares.replace(before, before.replace(share, repr(values.get(id, float(share)))))
            line = f"{name} = {shares}"
        found.append(line)
    return "\n".join(found), count


ASKED = {"stated": HOT_AND_COLD, "partly stated": LITTLE_KNOWN, "nothing": NOTHING_KNOWN}


def at(figure: DrawnFigure, place: float) -> float:
    """A drawn figure as the columns of its table say, from its place within the spread, -1 to 1."""
    factor = figure.spread**place
    share = figure.value / 100
    return {
        "times": figure.value * factor,
        "plus-minus": figure.value + figure.spread * place,
        "odds": 100 * share * factor / (1 - share + share * factor),
    }[figure.row.distribution]


@pytest.mark.parametrize("asked", ASKED.values(), ids=[*ASKED])
def test_each_draw_is_led_as_a_fill_from_tables_that_say_so(base, tables, asked) -> None:
    question = FillQuestion.model_validate(asked)
    judgement = Judgement.of(question, base)
    figures = figures_for(judgement)
    places = places_drawn(len(figures), 5, seed=5)
    by_hand = []
    for row in places:
        drawn = {figure.id: at(figure, place) for figure, place in zip(figures, row.tolist(), strict=True)}
        assert written(tables, drawn) == len(figures)
        answer = compute_fill_answer(question, read_knowledge(tables))
        by_hand.append(answer.leader.lubricant.id if answer.leader else None)
    assert leaders_drawn(judgement, figures, places) == by_hand


def test_the_shares_are_those_of_the_draws(base) -> None:
    question = FillQuestion.model_validate(HOT_AND_COLD)
    asked = FirmnessQuestion(question=question, seed=11)
    found = firmness(asked, base)
    judgement = Judgement.of(question, base)
    figures = figures_for(judgement)
    leaders = leaders_drawn(judgement, figures, places_drawn(len(figures), found.draws, 11))
    assert found.holds == leaders.count(found.leader) / found.draws
    assert found.holds + sum(item.share for item in found.instead) == pytest.approx(1)
    assert (found.word == "close") == (found.holds < 0.9)
    assert found == firmness(asked, base)
    assert len(found.matters_most) <= 3
    assert bool(found.matters_most) <= bool(found.instead)


def test_no_draw_is_impossible(base) -> None:
    rows = base.thresholds
    for slow, hard in (
        ("wiping-time-slow-from", "wiping-time-hard-from"),
        ("drag-share-slow-from", "drag-share-hard-from"),
        ("bearing-ratio-refused-below", "bearing-ratio-additive-below"),
    ):
        assert rows[slow].drawn_from_to()[1] < rows[hard].drawn_from_to()[0]
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


@pytest.mark.parametrize(
    ("file", "old", "new", "column"),
    [
        ("lubricants.csv", "140,215,865,,everyday,120", "140,150,865,,everyday,120", "viscosity_index_max"),
        ("duties.csv", "in competition,130", "in competition,145", "sump_hot_c"),
    ],
)
def test_a_row_that_would_be_impossible_where_it_is_drawn_is_told(spoilt, place, file, old, new, column) -> None:
    (fault,) = spoilt(file, old, new)
    assert "drawn" in fault.message
    assert (fault.file, fault.line, fault.column) == place(file, old, column)
