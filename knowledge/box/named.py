"""What the service data names: its family and grade read as people write them."""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.box.question import ServiceData
from knowledge.fluids.grades import Printed, printed
from knowledge.loading.schema import BareGradeRow
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


def in_words(service_data: ServiceData, base: KnowledgeBase) -> str:
    """The fluid that the service data names: `MTF 75W-80`."""
    label = service_data.family and base.families[service_data.family].label
    return " ".join(part for part in (label, service_data.grade) if part)


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
    base: KnowledgeBase,
) -> BareGrade | None:
    """What the service data means where it names no family or a single number, a family no more made, a fluid alone.

    What is not known of the box is taken as rings, no hypoid gears and a start above every cold band.
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
        spelt += [f"hypoid {grade}"] if found.says_hypoid else [f"{grade} ({found.edition})"]
        spelt += [grade]
    boxes = ("hypoid" if is_hypoid else "no-rings" if has_rings is False else "rings", "any")
    rows = [
        row
        for row in base.rows(BareGradeRow)
        if row.printed in spelt
        and row.box in boxes
        and (row.printed == spelt[0] or _is_of(row, named.family, grade, base))
        and (row.colder_than_c is None or (coldest_start_c is not None and coldest_start_c < row.colder_than_c))
    ]
    if not rows:
        return None
    row = min(rows, key=lambda row: (spelt.index(row.printed), boxes.index(row.box), row.colder_than_c or 0))
    return BareGrade(row.first, row.second, row.words, row.standing)


def _is_of(row: BareGradeRow, family: str | None, grade: str, base: KnowledgeBase) -> bool:
    """Whether a row may speak of a grade with its family: `GL-4 90` is an 80W-90, and `GL-1 90` none."""
    first = base.lubricant_rows.get(row.first or "")
    return family is None or (first is not None and first.family == family and grade in first.grade.split("-"))


class Named(NamedTuple):
    """The family, the grades of each family, or both, that the service data names; nothing where neither is given.

    `is_listed`: whether some class has the grade that is named, where one is.
    """

    family: str | None
    grades: frozenset[tuple[str, str]] | None
    is_listed: bool = True

    @classmethod
    def of(cls, service_data: ServiceData | None, base: KnowledgeBase) -> "Named":
        """What the service data names; a family within the grade text that is another one matches nothing."""
        if service_data is None:
            return cls(None, None)
        family, grade = service_data.family, service_data.grade
        found = printed(grade, base) if grade else None
        if found is None:
            return cls(family, None if grade is None or family else frozenset(), is_listed=not grade)
        if family and found.family not in (None, family):
            return cls(None, frozenset(), is_listed=False)
        if not (found.grades or found.iso_vg):
            return cls(family or found.family, None)
        grades = frozenset((id, meant) for id in base.families for meant in _meant(found.grades, id, base))
        named = cls(family, grades)
        return named._replace(is_listed=any(named.matches(oil) for oil in base.lubricants))

    def matches(self, oil: Lubricant) -> bool:
        """Whether an oil is of the family and of the grade that is named, as far as they are."""
        if self.family is None and self.grades is None:
            return False
        is_of_family = self.family in (None, oil.family.id)
        return is_of_family and (self.grades is None or (oil.family.id, oil.grade) in self.grades)

    def is_kin(self, oil: Lubricant) -> bool:
        """Whether an oil is of the family that is named with a grade which no class has."""
        return not self.is_listed and self.family == oil.family.id

    def names(self, oil: Lubricant) -> bool:
        """Whether this very class is named, or the whole family where no grade is.

        A grade alone names no class: it says nothing of the additives, so it excuses none.
        """
        return self.family is not None and self.matches(oil)


def _meant(printed_grades: Iterable[str], family: str, base: KnowledgeBase) -> Iterator[str]:
    """The grades of a family that are meant: the same, else those that a single grade of older books is part of."""
    grades = {oil.grade for oil in base.lubricants if oil.family.id == family}
    for grade in printed_grades:
        parts = {item for item in grades if grade in item.split("-")}
        yield from {grade} if grade in grades or not parts else parts
