"""What the service data names: its family and grade read as people write them."""

from typing import Any, Literal, NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion, ServiceData
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


def in_words(family: str | None, grade: str | None, base: KnowledgeBase) -> str:
    """The fluid that somebody names: `MTF 75W-80`."""
    label = family and base.families[family].label
    return " ".join(part for part in (label, grade) if part)


NOT_NAMED = 15


class Named(NamedTuple):
    """What somebody names for a box: pairs of family and grade, what is named first before what is meant second.

    `by` who does; `is_listed`: whether some class has the grade that is named, where one is; `is_vouched_for`: the
    rings are those that the service data speaks of; `disagrees`: two makers of rings name different fluids.
    """

    by: Literal["service-data", "ring-maker"] | None = None
    text: str = ""
    pairs: tuple[tuple[str, str], ...] = ()
    family: str | None = None
    grade: str | None = None
    is_family_alone: bool = False
    is_listed: bool = True
    is_vouched_for: bool = False
    disagrees: bool = False

    @classmethod
    def of(cls, question: FillQuestion, base: KnowledgeBase) -> "Named":
        """What counts for a box: the word of the makers of its rings, else the service data if the rings are its own.

        A family within the grade text that is another one matches nothing.
        """
        rings = question.rings or ()
        of_makers = list(dict.fromkeys(ring.fluid_named for ring in rings if ring.fluid_named))
        if of_makers:
            named = cls._read("ring-maker", of_makers[0].family, of_makers[0].grade, base)
            return named._replace(disagrees=len(of_makers) > 1)
        service_data = question.service_data
        if service_data is None or any(ring.replaced for ring in rings):
            return cls()
        named = cls._read("service-data", service_data.family, service_data.grade, base)
        return named._replace(is_vouched_for=bool(rings) and all(ring.replaced is False for ring in rings))

    @classmethod
    def _read(cls, by: Any, family: str | None, grade: str | None, base: KnowledgeBase) -> "Named":
        text = in_words(family, grade, base)
        if not text:
            return cls()
        if grade is None or (family and not _is_grade(grade, base)):
            pairs = [(family, plain_grade(oil.grade)) for oil in base.lubricants if oil.family.id == family]
            return cls(by, text, tuple(pairs), family, None, is_family_alone=True)
        if family and category_in(grade, base) not in (None, family):
            return cls(by, text, (), family, grade, is_listed=False)
        families = [family] if family else list(base.families)
        there = {(oil.family.id, plain_grade(oil.grade)) for oil in base.lubricants}
        pairs = [(id, meant) for id in families for meant in sorted(_meant(grade, id, base)) if (id, meant) in there]
        return cls(by, text, tuple(pairs), family, grade, is_listed=bool(pairs))

    def place(self, oil: Lubricant) -> int:
        """The place of an oil among what is named; NOT_NAMED where it is not. A family alone names all alike."""
        pair = oil.family.id, plain_grade(oil.grade)
        if pair not in self.pairs:
            return NOT_NAMED
        return 0 if self.is_family_alone else min(self.pairs.index(pair), NOT_NAMED - 1)

    def names(self, oil: Lubricant) -> bool:
        """Whether this very class is named, or its family alone."""
        return self.place(oil) < NOT_NAMED


def _is_grade(text: str, base: KnowledgeBase) -> bool:
    """Whether a text can be a grade at all: `see the book` is none."""
    return bool(PARTS.search(text)) or plain_grade(text) in {plain_grade(oil.grade) for oil in base.lubricants}


def _meant(grade: str, family: str, base: KnowledgeBase) -> set[str]:
    """The grades of a family that a text means: the same, else those that a single grade of older books is part of."""
    plain = plain_grade(grade)
    grades = {oil.grade for oil in base.lubricants if oil.family.id == family}
    parts = {plain_grade(item) for item in grades if plain in map(plain_grade, item.split("-"))}
    return {plain} if plain in map(plain_grade, grades) or not parts else parts
