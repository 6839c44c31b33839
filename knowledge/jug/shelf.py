"""Jugs beside each other: each judged for one box, and in which order they would be taken off the shelf."""

from collections.abc import Sequence

from knowledge.fluids.data_sheet import Sheet
from knowledge.fluids.possible_lubricants import how_open, possible_lubricants
from knowledge.judging.columns import LubricantColumns
from knowledge.judging.judgement import Judgement
from knowledge.jug.judged_sheet import JudgedSheet
from knowledge.lubricant import Lubricant

# More than what a shelf of labelled jugs may hold.
MOST_JUDGED = 160


def judged_sheets(sheets: Sequence[Sheet], of_box: Judgement) -> tuple[JudgedSheet, ...]:
    """Each sheet under every rule for a box; a lubricant that several sheets leave open is judged once.

    Of many sheets those that leave most open are not judged once what the others may hold is enough work.
    """
    possible: dict[int, tuple[Lubricant, ...]] = {}
    spent = 0
    for classes, at in sorted((how_open(sheet), at) for at, sheet in enumerate(sheets)):
        if not spent or spent + classes <= MOST_JUDGED:
            possible[at] = possible_lubricants(sheets[at])
            spent += max(len(possible[at]), 1)
    different = {id(one): one for lubricants in possible.values() for one in lubricants}
    judgement = Judgement(of_box.cases, LubricantColumns.of(different.values(), of_box.base), of_box.region)
    place_of = {key: place for place, key in enumerate(different)}
    return tuple(
        JudgedSheet(
            sheet, judgement, tuple([place_of[id(one)] for one in possible.get(at, ())]), at not in possible, of_box
        )
        for at, sheet in enumerate(sheets)
    )


def ranks(sheets: Sequence[JudgedSheet]) -> tuple[int | None, ...]:
    """The place of each jug that is not refused, best first, as the classes are ordered.

    What its label or its strip leaves in doubt is never first, not even where it is all there is.
    """
    order = sorted(
        (_order(sheet), index) for index, sheet in enumerate(sheets) if sheet.places and sheet.verdict != "does-not-fit"
    )
    first = 2 if order and sheets[order[0][1]].doubts else 1
    ranked = {index: rank for rank, (_, index) in enumerate(order, start=first)}
    return tuple(ranked.get(index) for index in range(len(sheets)))


def _order(sheet: JudgedSheet) -> tuple[float, ...]:
    ranking, places, verdict = sheet.judgement.ranking, list(sheet.places), sheet.verdict
    return (
        bool(sheet.doubts),
        int(ranking.named_place[places].max()),
        ("fits", "fits-with-care", "depends").index(verdict),
        round(float(ranking.refused_share[places].mean()), 6) if verdict == "depends" else 0.0,
        round(float(ranking.typical_place[places].mean()), 6),
    )
