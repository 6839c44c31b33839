"""The usual fills: every row of custom leads where its conditions are stated, or a rule that is named refuses it."""

from collections import Counter

import pytest

from knowledge.judging.column_rule import CAUTIONS
from knowledge.judging.judgement import Judgement
from knowledge.judging.rules import RULES
from knowledge.judging.usual import custom_order_of_classes, row_of, row_of_box
from knowledge.loading.custom_rows import UsualFillRow
from tests.knowledge.leads import COLD_RULE, are_twins, usual_fill

# What speaks against the first choice of a row in the very box that the row is for.
SPOKEN_AGAINST = {
    "unsynchronized-boxes-take-gear-oil",  # straight oil in a crash box: only where its book names it
    # Axle oil beside rings and hypoid gears: only what the book names.
    "hypoid-final-drive-needs-full-ep",
    "full-ep-additives-attack-yellow-metal",
    "solid-and-sprayed-rings-take-gl-4-or-dedicated-fluid",
    "lined-rings-burn-under-thick-gear-oil",  # a 75W-90 on carbon in competition: the trade is divided
}


def box_of(row: UsualFillRow, box) -> dict:
    """A fully stated box in which a row holds: its first kind, rings, drive and duty, in the middle of its cold."""
    facing = row.facings[0] if row.facings else "bronze"
    below = 10.0 if row.cold_below_c is None else row.cold_below_c
    coldest = max(below - 20.0, -40.0) if row.cold_from_c is None else (row.cold_from_c + below) / 2
    return box(
        None if facing == "none" else facing,
        box_kind=row.box_kinds[0] if row.box_kinds else None,
        final_drive=row.final_drives[0],
        duty=row.duties[0] if row.duties else "street",
        coldest_start_c=coldest,
        sump_hot_c=None,
    )


def test_every_row_leads_where_it_holds_unless_a_rule_speaks_against_it_or_first_shifts_are_hard(
    base, box, judge, place_of
) -> None:
    why: Counter[str] = Counter()
    for row in base.rows(UsualFillRow):
        stated = box_of(row, box)
        if usual_fill(stated["box_kind"], stated, base) is not row:
            stated |= {"coldest_start_c": -12.0}
        judgement: Judgement = judge(**stated)
        assert base.rows(UsualFillRow)[row_of_box(judgement.cases)] is row, row.words
        first = place_of[row.lubricants[0]]
        spoken = {rule.id for at, rule in enumerate(RULES) if judgement.judged.worst[at, first] <= CAUTIONS}
        if judgement.outcome(COLD_RULE, first) == "surely-hard" and row.colder:
            why["cold"] += 1
            assert judgement.leader != first, row.words
        elif spoken:
            why["refused"] += 1
            assert spoken <= SPOKEN_AGAINST, (row.words, spoken)
        else:
            why["leads"] += 1
            assert judgement.leader == first, (row.words, judgement.leader)
    assert why["leads"] > sum(why.values()) / 2


@pytest.mark.parametrize("region", [None, "north-america"])
def test_the_order_of_a_row_is_its_own_with_the_twins_beside_and_then_what_is_sold_every_day(base, region) -> None:
    order = custom_order_of_classes(base, region)
    for row, places in zip(base.rows(UsualFillRow), order.usual.tolist(), strict=False):
        place = {oil.id: at for oil, at in zip(base.lubricants, places, strict=True)}
        named = [place[id] for id in row.lubricants]
        assert named == sorted(named)
        usual = {oil for oil in base.lubricants if oil.id in row.lubricants}
        twins = {oil.id for oil in base.lubricants if any(are_twins(one, oil) for one in usual)}
        assert max(place[id] for id in {*row.lubricants, *twins}) < len({*row.lubricants, *twins})
        others = {id: at for id, at in place.items() if id not in {*row.lubricants, *twins}}
        sold = [base.sold(id, region) for id, _ in sorted(others.items(), key=lambda item: item[1])]
        ranks = [("everyday", "to-order", "rare").index(one) for one in sold]
        assert ranks == sorted(ranks)


def test_of_the_rows_that_hold_the_first_counts_and_where_none_does_there_is_no_custom(base) -> None:
    rows = base.rows(UsualFillRow)
    old = row_of(frozenset({"rear-drive-1940-1970", "rear-drive"}), "bronze", "none", "street", 0.0, base)
    new = row_of(frozenset({"rear-drive-after-2005", "rear-drive"}), "bronze", "none", "street", 0.0, base)
    # Common practice, no source: an old rear-drive box gets an 80W-90, a newer one a 75W-90.
    assert (rows[old].lubricants[0], rows[new].lubricants[0]) == ("gl-4-80w-90", "gl-4-75w-90")
    assert row_of(frozenset(), "paper", "hypoid", "street", 0.0, base) == len(rows)
