"""What the service data names: its family and grade read as people write them."""

from typing import NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.box.question import ServiceData
from knowledge.fluids.grades import CATEGORY, PARTS, category_in, plain_grade
from knowledge.lubricant import Lubricant
from knowledge.parts.request_model import says_nothing


def understood(service_data: ServiceData | None, base: KnowledgeBase) -> ServiceData | None:
    """The service data with the family that its grade text names moved to where it belongs, if it gives no other."""
    if service_data is None or service_data.grade is None or service_data.family is not None:
        return service_data
    family = category_in(service_data.grade, base)
    if family is None:
        return service_data
    grade = CATEGORY.sub("", service_data.grade.upper()).strip(" ,;/-")
    return service_data.model_copy(update={"family": family, "grade": None if says_nothing(grade) else grade})


def in_words(service_data: ServiceData, base: KnowledgeBase) -> str:
    """The fluid that the service data names: `MTF 75W-80`."""
    label = service_data.family and base.families[service_data.family].label
    return " ".join(part for part in (label, service_data.grade) if part)


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
        if grade is None or (family and not _is_grade(grade, base)):
            return cls(family, None)
        if family and category_in(grade, base) not in (None, family):
            return cls(None, frozenset(), is_listed=False)
        grades = frozenset((id, meant) for id in base.families for meant in _meant(grade, id, base))
        named = cls(family, grades)
        return named._replace(is_listed=any(named.matches(oil) for oil in base.lubricants))

    def matches(self, oil: Lubricant) -> bool:
        """Whether an oil is of the family and of the grade that is named, as far as they are."""
        if self.family is None and self.grades is None:
            return False
        is_of_family = self.family in (None, oil.family.id)
        return is_of_family and (self.grades is None or (oil.family.id, plain_grade(oil.grade)) in self.grades)

    def is_kin(self, oil: Lubricant) -> bool:
        """Whether an oil is of the family that is named with a grade which no class has."""
        return not self.is_listed and self.family == oil.family.id

    def names(self, oil: Lubricant) -> bool:
        """Whether this very class is named, or the whole family where no grade is.

        A grade alone names no class: it says nothing of the additives, so it excuses none.
        """
        return self.family is not None and self.matches(oil)


def _is_grade(text: str, base: KnowledgeBase) -> bool:
    """Whether a text can be a grade at all: `see the book` is none."""
    return bool(PARTS.search(text)) or plain_grade(text) in {plain_grade(oil.grade) for oil in base.lubricants}


def _meant(grade: str, family: str, base: KnowledgeBase) -> set[str]:
    """The grades of a family that a text means: the same, else those that a single grade of older books is part of."""
    plain = plain_grade(grade)
    grades = {oil.grade for oil in base.lubricants if oil.family.id == family}
    parts = {plain_grade(item) for item in grades if plain in map(plain_grade, item.split("-"))}
    return {plain} if plain in map(plain_grade, grades) or not parts else parts
