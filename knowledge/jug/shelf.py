"""Jugs beside each other: each judged for one box, and in which order they would be taken off the shelf."""

from collections.abc import Mapping, Sequence

from knowledge.box.circumstances import knows_nothing
from knowledge.fluids.data_sheet import Sheet
from knowledge.fluids.possible_lubricants import open_to, possible_lubricants
from knowledge.judging.columns import LubricantColumns
from knowledge.judging.judgement import Judgement
from knowledge.jug.judged_sheet import JudgedSheet
from knowledge.lubricant import Lubricant

# Of the lubricants that jugs may hold: what it takes to put one into words, in cases of the box, and the cases that
# may be judged and told in all. Of a stated box that is twice what a full shelf of labelled jugs holds.
WORK_OF_WORDS, MOST_WORK = 600, 64_000
WHAT_A_LABEL_TELLS = {"name", "label"}


def judged_sheet(sheet: Sheet, of_box: Judgement) -> JudgedSheet:
    """One sheet under every rule for a box, however much it and the box leave open."""
    return _judged([sheet], {0: possible_lubricants(sheet)}, of_box)[0]


def judged_sheets(sheets: Sequence[Sheet], of_box: Judgement) -> tuple[JudgedSheet, ...]:
    """Each sheet under every rule for a box, as far as that is not too much work.

    Those that leave most open are left out first, and all that are measured where nothing is known of the box.
    """
    places, is_new = _places(of_box), knows_nothing(of_box.question)
    classes = [open_to(sheet) for sheet in sheets]
    is_measured = [not _is_of_classes(sheet, of, places) for sheet, of in zip(sheets, classes, strict=True)]
    work_of_each = [WORK_OF_WORDS + (of_box.count if measured else 0) for measured in is_measured]
    possible: dict[int, tuple[Lubricant, ...]] = {}
    left = MOST_WORK
    for at in sorted(range(len(sheets)), key=lambda at: len(classes[at])):
        if len(classes[at]) * work_of_each[at] <= left and not (is_new and is_measured[at]):
            possible[at] = possible_lubricants(sheets[at], classes[at])
            left -= work_of_each[at] * max(len(possible[at]), 1)
    return _judged(sheets, possible, of_box)


def _places(of_box: Judgement) -> dict[int, int]:
    """The place of each class that is judged for the box, by its identity."""
    return {id(one): place for place, one in enumerate(of_box.lubricants)}


def _is_of_classes(sheet: Sheet, classes: Sequence[Lubricant], places: Mapping[int, int]) -> bool:
    """Whether a sheet tells no more than a label, which leaves classes open that are judged already."""
    is_label = not sheet.jug.model_dump(exclude=WHAT_A_LABEL_TELLS, exclude_defaults=True)
    return is_label and all(id(one) in places for one in classes)


def _judged(
    sheets: Sequence[Sheet], possible: Mapping[int, Sequence[Lubricant]], of_box: Judgement
) -> tuple[JudgedSheet, ...]:
    """Each sheet by what it may hold, left out where that is not said; what several leave open is judged once."""
    places_of_classes = _places(of_box)
    measured = {
        id(one): one
        for lubricants in possible.values()
        if any(id(one) not in places_of_classes for one in lubricants)
        for one in lubricants
    }
    judgement = Judgement(of_box.cases, LubricantColumns.of(measured.values(), of_box.base), of_box.region)
    places_of_measured = {key: place for place, key in enumerate(measured)}

    def of_sheet(at: int, sheet: Sheet) -> JudgedSheet:
        lubricants = possible.get(at, ())
        is_of_classes = all(id(one) in places_of_classes for one in lubricants)
        places = places_of_classes if is_of_classes else places_of_measured
        return JudgedSheet(
            sheet,
            of_box if is_of_classes else judgement,
            tuple([places[id(one)] for one in lubricants]),
            at not in possible,
            of_box,
        )

    return tuple(of_sheet(at, sheet) for at, sheet in enumerate(sheets))


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
