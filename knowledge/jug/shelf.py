"""Jugs beside each other: each judged for one box, and in which order they would be taken off the shelf."""

from collections.abc import Mapping, Sequence

from knowledge.fluids.data_sheet import Sheet
from knowledge.fluids.possible_lubricants import open_to, possible_lubricants
from knowledge.judging.columns import LubricantColumns
from knowledge.judging.judgement import Judgement
from knowledge.jug.judged_sheet import JudgedSheet
from knowledge.lubricant import Lubricant

# The lubricants that jugs may hold, times the cases of the box and what it takes to put one into words, in cases.
# That is twice what a full shelf of labelled jugs holds where the box is stated, and one where nothing is known of it.
MOST_WORK, WORK_OF_WORDS = 1_700_000, 15_000


def judged_sheet(sheet: Sheet, of_box: Judgement) -> JudgedSheet:
    """One sheet under every rule for a box, however much it and the box leave open."""
    return _judged([sheet], {0: possible_lubricants(sheet)}, of_box)[0]


def judged_sheets(sheets: Sequence[Sheet], of_box: Judgement) -> tuple[JudgedSheet, ...]:
    """Each sheet under every rule for a box, as far as that is not too much work.

    Those that leave most open are left out first.
    """
    open_classes = [open_to(sheet) for sheet in sheets]
    possible: dict[int, tuple[Lubricant, ...]] = {}
    left = MOST_WORK // (of_box.count + WORK_OF_WORDS)
    for at in sorted(range(len(sheets)), key=lambda at: len(open_classes[at])):
        if len(open_classes[at]) <= left:
            possible[at] = possible_lubricants(sheets[at], open_classes[at])
            left -= max(len(possible[at]), 1)
    return _judged(sheets, possible, of_box)


def _judged(
    sheets: Sequence[Sheet], possible: Mapping[int, Sequence[Lubricant]], of_box: Judgement
) -> tuple[JudgedSheet, ...]:
    """Each sheet by what it may hold, left out where that is not said; what several leave open is judged once."""
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
