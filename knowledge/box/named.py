"""What the service data names: its family and grade read as people write them."""

from collections.abc import Iterable, Iterator
from typing import Any, Literal, NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion, ServiceData
from knowledge.fluids.grades import Printed, is_graded_so, printed
from knowledge.loading.custom_rows import BoxKindRow
from knowledge.loading.facing_rows import NO_RINGS
from knowledge.loading.fluid_rows import BareGradeRow
from knowledge.lubricant import Lubricant
from knowledge.parts.provenance import Standing


def understood(service_data: ServiceData | None, base: KnowledgeBase) -> ServiceData | None:
    """The service data with the family that its grade text names moved to where it belongs, if it gives no other."""
    if service_data is None or service_data.grade is None or service_data.family is not None:
        return service_data
    found = printed(service_data.grade, base)
    if found is None or found.family is None:
        return service_data
    return service_data.model_copy(update={"family": found.family, "grade": " / ".join(found.grades) or None})


def in_words(family: str | None, grade: str | None, base: KnowledgeBase) -> str:
    """The fluid that somebody names: `MTF 75W-80`."""
    label = family and base.families[family].label
    return " ".join(part for part in (label, grade) if part)


NOT_NAMED = 15


class BareGrade(NamedTuple):
    """What a grade without its family means today: the classes in order, and why; a first of None is as printed."""

    first: str | None
    second: str | None
    words: str
    standing: Standing

    @property
    def classes(self) -> tuple[str, ...]:
        """The ids of the classes, the first choice first."""
        return tuple(id for id in (self.first, self.second) if id)


def bare_grade(
    service_data: ServiceData | None,
    *,
    has_rings: bool | None,
    is_hypoid: bool | None,
    coldest_start_c: float | None,
    has_lining: bool = False,
    built_from: int | None = None,
    base: KnowledgeBase,
) -> BareGrade | None:
    """What the service data means where it names no family or a single number, a family no more made, a fluid alone.

    What is not known of the box is taken as old rings without a lining, no hypoid gears and a start above every cold
    band.
    """
    named = understood(service_data, base)
    if named is None:
        return None
    found = printed(named.grade, base) if named.grade else Printed(())
    if found is None or len(found.grades) > 1:
        return None
    grade = "".join(found.grades)
    spelt = [f"{named.family} {grade}" if grade else named.family]
    if named.family is None or grade.isdigit():
        spelt += [f"hypoid {grade}".strip()] if found.says_hypoid else [f"{grade} ({found.edition})"]
        spelt += [grade]
    rings = ("no-rings",) if has_rings is False else ("lined", "rings") if has_lining else ("rings",)
    boxes = (*(("hypoid",) if is_hypoid else rings), "any")
    rows = [
        row
        for row in base.rows(BareGradeRow)
        if row.printed in spelt
        and row.box in boxes
        and (row.printed == spelt[0] or _is_of(row, named.family, grade, base))
        and (row.colder_than_c is None or (coldest_start_c is not None and coldest_start_c < row.colder_than_c))
        and (row.built_from is None or (built_from is not None and built_from >= row.built_from))
    ]
    if not rows:
        return None

    def key(row: BareGradeRow) -> tuple[float, ...]:
        place = spelt.index(row.printed), boxes.index(row.box)
        return *place, -(row.built_from or 0), row.colder_than_c or 0

    row = min(rows, key=key)
    second = base.lubricant_rows.get(row.second or "")
    is_meant = second and (named.family in (None, second.family) or row.printed == spelt[0])
    return BareGrade(row.first, row.second if is_meant else None, row.words, row.standing)


def _is_of(row: BareGradeRow, family: str | None, grade: str, base: KnowledgeBase) -> bool:
    """Whether a row may speak of a grade with its family: `GL-4 90` is an 80W-90, and `GL-1 90` none."""
    first = base.lubricant_rows.get(row.first or "")
    return family is None or (first is not None and first.family == family and grade in first.grade.split("-"))


class Named(NamedTuple):
    """What somebody names for a box: pairs of family and grade, what is named first before what is meant second.

    `by` who does; `is_listed`: whether some class has the grade that is named, where one is; `is_possible`: whether
    there can be such a fluid; `is_bare`: the kind of fluid is not named; `is_vouched_for`: the rings are those that the
    service data speaks of; `disagrees`: two makers of rings name different fluids.
    """

    by: Literal["service-data", "ring-maker"] | None = None
    text: str = ""
    pairs: tuple[tuple[str, str], ...] = ()
    family: str | None = None
    grade: str | None = None
    is_family_alone: bool = False
    is_listed: bool = True
    is_possible: bool = True
    is_bare: bool = False
    is_vouched_for: bool = False
    disagrees: bool = False
    means: str | None = None

    @classmethod
    def of(cls, question: FillQuestion, base: KnowledgeBase) -> "Named":
        """What counts for a box: the word of the makers of its rings, else the service data if the rings are its own.

        A family within the grade text that is another one matches nothing.
        """
        rings = question.rings or ()
        of_makers = list(dict.fromkeys(ring.fluid_named for ring in rings if ring.fluid_named))
        if of_makers:
            fluid = ServiceData(family=of_makers[0].family, grade=of_makers[0].grade)
            return cls._read("ring-maker", fluid, question, base)._replace(disagrees=len(of_makers) > 1)
        if question.service_data is None or any(ring.replaced for ring in rings):
            return cls()
        named = cls._read("service-data", question.service_data, question, base)
        return named._replace(is_vouched_for=bool(rings) and all(ring.replaced is False for ring in rings))

    @classmethod
    def _read(cls, by: Any, fluid: ServiceData, question: FillQuestion, base: KnowledgeBase) -> "Named":
        family, grade, text = fluid.family, fluid.grade, in_words(fluid.family, fluid.grade, base)
        if not text:
            return cls()
        drive, rings = question.final_drive, question.rings
        found = printed(grade, base) if grade else None
        is_graded_as_named = not (found and family) or is_graded_so(family, found, base)
        if not is_graded_as_named or (found and family and found.family not in (None, family)):
            return cls(by, text, (), family, grade, is_listed=False, is_possible=False)
        kind = base.by_id(BoxKindRow)[question.box_kind] if question.box_kind else None
        never_has_rings = kind is not None and {*kind.facing_percent} == {NO_RINGS}
        bare = bare_grade(
            fluid,
            has_rings=bool(rings) if rings is not None else False if never_has_rings else None,
            is_hypoid=None if drive is None else drive == "hypoid",
            coldest_start_c=question.coldest_start_c,
            has_lining=any(ring.facing and base.facings[ring.facing].kind == "lined" for ring in rings or ()),
            built_from=kind.from_year if kind else None,
            base=base,
        )
        is_bare = family is None
        if bare:
            rows = [base.lubricant_rows[id] for id in bare.classes] if bare.first else []
            if any(row.family == family for row in rows):
                rows = [row for row in rows if row.family == family]
            pairs = tuple((row.family, row.grade) for row in rows)
            of_second = base.lubricant_rows[bare.second].family if bare.second and not rows else None
            is_listed = bool(pairs)
            return cls(by, text, pairs, family or of_second, grade, False, is_listed, is_bare=is_bare, means=bare.words)
        if family and (found is None or not (found.grades or found.iso_vg)):
            of_family = tuple((family, oil.grade) for oil in base.lubricants if oil.family.id == family)
            return cls(by, text, of_family, family, None, is_family_alone=True)
        # A bare grade never means limited-slip oil.
        families = [family] if family else [row.id for row in base.families.values() if not row.limited_slip]
        there = {(oil.family.id, oil.grade) for oil in base.lubricants}
        meant = [(id, one) for id in families for one in sorted(_meant(found.grades if found else (), id, base))]
        of_grade = tuple(pair for pair in meant if pair in there)
        return cls(by, text, of_grade, family, grade, is_listed=bool(of_grade), is_bare=is_bare)

    def place(self, oil: Lubricant) -> int:
        """The place of an oil among what is named; NOT_NAMED where it is not. A family alone names all alike."""
        pair = oil.family.id, oil.grade
        if pair not in self.pairs:
            return NOT_NAMED
        return 0 if self.is_family_alone else min(self.pairs.index(pair), NOT_NAMED - 1)

    def names(self, oil: Lubricant) -> bool:
        """Whether this very class is named, or its family alone."""
        return self.place(oil) < NOT_NAMED


def _meant(printed_grades: Iterable[str], family: str, base: KnowledgeBase) -> Iterator[str]:
    """The grades of a family that are meant: the same, else those that a single grade of older books is part of."""
    grades = {oil.grade for oil in base.lubricants if oil.family.id == family}
    for grade in printed_grades:
        parts = {item for item in grades if grade in item.split("-")}
        yield from {grade} if grade in grades or not parts else parts
