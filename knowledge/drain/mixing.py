"""A fluid that goes out or in, and what the table says of one in another, as far as both and the box are known."""

from math import sqrt
from typing import Literal, NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.drain.rows import MixingRow
from knowledge.fluids.data_sheet import Sheet
from knowledge.fluids.grades import grades_in
from knowledge.fluids.possible_lubricants import possible_lubricants
from knowledge.loading.fluid_rows import FamilyRow
from knowledge.lubricant import Lubricant
from knowledge.parts.jug import Jug
from knowledge.parts.provenance import LimitUsed
from knowledge.parts.references import replaced
from knowledge.text import Said, grouped, in_a_row, reworded


class Fluid(NamedTuple):
    """A fluid that goes out or in: its kind, and its viscosities where they are given or follow from its class."""

    family: FamilyRow | None = None
    is_limited_slip: bool | None = None
    kv40_mm2_s: float | None = None
    kv100_mm2_s: float | None = None
    grade: str | None = None
    taken_from: Lubricant | None = None

    @classmethod
    def of_jug(cls, jug: Jug | None, base: KnowledgeBase) -> "Fluid":
        """A fluid as its label and data sheet give it; a class named by the label lends the middle of its band."""
        if jug is None:
            return cls()
        if jug.label and jug.label.also:
            jug = replaced(jug, {("label", "also"): ()})
        sheet = Sheet(jug, base)
        family = sheet.label_family
        limited_slip = jug.limited_slip if jug.limited_slip is not None else family.limited_slip if family else None
        if jug.kv40_mm2_s is None and jug.kv100_mm2_s is None and sheet.grade_text is not None:
            lubricants = possible_lubricants(sheet)
            if len({lubricant.id for lubricant in lubricants}) == 1:
                return cls.of_class(lubricants[0])._replace(is_limited_slip=limited_slip)
        grade = next(iter(grades_in(sheet.grade_text, base)), None)
        return cls(family, limited_slip, jug.kv40_mm2_s, jug.kv100_mm2_s, grade)

    @classmethod
    def of_class(cls, lubricant: Lubricant) -> "Fluid":
        """The geometric middle of a class."""
        kv40s = [corner.kv40_mm2_s for corner in lubricant.corners]
        kv40 = sqrt(min(kv40s) * max(kv40s))
        kv100 = sqrt(lubricant.kv100_min_mm2_s * lubricant.kv100_max_mm2_s)
        grade = lubricant.grade
        return cls(lubricant.family, lubricant.limited_slip, kv40, kv100, grade, lubricant)

    @property
    def kind(self) -> str:
        """An id of what it is called: that of its family where it has one."""
        return self.family.id if self.family else "any-limited-slip" if self.is_limited_slip else "unknown"

    @property
    def is_unknown(self) -> bool:
        """Whether nobody knows what kind it is."""
        return self.family is None and not self.is_limited_slip

    @property
    def label(self) -> str:
        """What it is called within a sentence."""
        if self.family is None:
            return "limited-slip oil" if self.is_limited_slip else "unknown fluid"
        label = self.family.label
        return label[0].lower() + label[1:] if label[1].islower() else label

    def is_one_of(self, families: tuple[str, ...], base: KnowledgeBase) -> bool | None:
        """Whether it is of one of these families, or of any where none is listed; None where nobody knows."""
        if not families:
            return True
        slippery = [id for id in families if base.families[id].limited_slip]
        if self.is_limited_slip:
            return bool(slippery)
        if self.family is None:
            return False if self.is_limited_slip is False and len(slippery) == len(families) else None
        return self.family.id in families


# What is not known where a condition of a row is open, in the order of the conditions.
ONE_KIND = Said("whether both are of one kind", "whether-both-are-of-one-kind")
UNKNOWN = (
    Said("what was poured in", "what-was-poured-in"),
    Said("what is in it", "what-is-in-it"),
    ONE_KIND,
    Said("the grades", "the-grades"),
    Said("how thick it is", "how-thick-it-is"),
    Said("whether the rings are lined", "whether-the-rings-are-lined"),
)
IF = {"lined": "If the rings are lined", "not-lined": "If the rings are metal", "rings": "If it has rings"}


class Mixing(NamedTuple):
    """One fluid in another: the rows it may come under, and what is not known that would tell which."""

    rows: tuple[MixingRow, ...]
    unknown: tuple[Said, ...]
    is_hot: bool
    is_lined: bool | None

    @classmethod
    def of(cls, added: Fluid, in_it: Fluid, box: FillQuestion, base: KnowledgeBase) -> "Mixing":
        """The first row that surely fits, and those before it that may fit."""
        rows: list[MixingRow] = []
        unknown: dict[Said, None] = {}
        for row in base.rows(MixingRow):
            holds = _conditions(row, added, in_it, box, base)
            if False not in holds:
                rows.append(row)
                unknown |= dict.fromkeys(words for words, one in zip(UNKNOWN, holds, strict=True) if one is None)
            if all(holds):
                break
        kinds = [words for words in UNKNOWN[:2] if words in unknown]
        # Grades and thickness count only between fluids that are known.
        told = [words for words in UNKNOWN if words in unknown and (words in (*kinds, UNKNOWN[-1]) or not kinds)]
        if len(told) > 1 and ONE_KIND in told:
            told.remove(ONE_KIND)
        is_hot = box.sump_hot_c is not None and box.sump_hot_c > base.limit("oil-hot-from")
        return cls(tuple(rows), tuple(told), is_hot, _box_is("lined", box, base))

    @property
    def is_same_kind(self) -> bool:
        """Whether both are surely of one kind."""
        return all(row.same_kind for row in self.rows)

    @property
    def strictest(self) -> MixingRow:
        """The row that lets the least of an old fluid stay."""
        return min(self.rows, key=lambda row: row.may_stay_share)

    @property
    def may_stay(self) -> LimitUsed:
        """How much of an old fluid may be left by a change."""
        return _limit(self.strictest, self.strictest.may_stay_share)

    @property
    def harmless(self) -> LimitUsed:
        """How much of a top-up does no harm in any case."""
        row = self.strictest_of_top_up
        return _limit(row, self.harmless_share(row) or row.may_stay_share)

    @property
    def strictest_of_top_up(self) -> MixingRow:
        """The row by which the least of a top-up does no harm."""
        return min(self.rows, key=self.harmless_share)

    def advice(self, column: Literal["job_card", "too_much"]) -> str | None:
        """What is written down: by the row that surely fits, and by a stricter one where it depends on the box."""
        sure, strict = self.rows[-1], self.strictest_of_top_up
        text, stricter = (_written(row, column) for row in (sure, strict))
        if strict is sure or strict.box not in IF or stricter is None:
            return stricter
        told = reworded(stricter, f"{IF[strict.box]}: {stricter[0].lower()}{stricter[1:]}", only_if=strict.box)
        return in_a_row(filter(None, (text, told)))

    @property
    def harmless_span(self) -> tuple[float, float]:
        """The least and the most of a top-up that does no harm, by what nobody knows."""
        shares = [self.harmless_share(row) for row in self.rows]
        return min(shares), max(shares)

    def harmless_share(self, row: MixingRow) -> float:
        """How much of a top-up does no harm by one row, as hot as the oil is said to run."""
        hot = row.harmless_share_hot
        return hot if self.is_hot and hot is not None else row.harmless_share

    def is_harmless(self, added_share: float | None) -> bool | None:
        """Whether so much added does no harm; None where it depends on what nobody knows."""
        least, most = self.harmless_span
        if added_share is None:
            return True if least == 1 else False if most == 0 else None
        return True if added_share <= least else False if added_share > most else None

    @property
    def between(self) -> str | None:
        """The distance between two drains."""
        least, most = self.strictest.km_min, self.strictest.km_max
        return None if least is None or most is None else f"{grouped(least)} to {grouped(most)} km"


def _written(row: MixingRow, column: Literal["job_card", "too_much"]) -> Said | None:
    text: str | None = getattr(row, column)
    return Said(text, f"{row.id}/{column.replace('_', '-')}") if text else None


def _limit(row: MixingRow, value: float) -> LimitUsed:
    return LimitUsed(id=row.id, value=value, unit="1", standing=row.standing)


def _conditions(
    row: MixingRow, added: Fluid, in_it: Fluid, box: FillQuestion, base: KnowledgeBase
) -> tuple[bool | None, ...]:
    """Each condition of a row: whether it holds, None where nobody knows."""
    kv100_from = row.added_kv100_from_mm2_s
    is_thick = None if added.kv100_mm2_s is None or kv100_from is None else added.kv100_mm2_s >= kv100_from
    return (
        added.is_one_of(row.added, base),
        in_it.is_one_of(row.in_it, base),
        not row.same_kind or _are_one_kind(added, in_it),
        row.grades is None or _grades_are(row.grades, added, in_it, base),
        kv100_from is None or is_thick,
        row.box is None or _box_is(row.box, box, base),
    )


def _are_one_kind(added: Fluid, in_it: Fluid) -> bool | None:
    if None in (added.is_limited_slip, in_it.is_limited_slip):
        return None
    if added.is_limited_slip and in_it.is_limited_slip:
        return True
    if added.is_limited_slip != in_it.is_limited_slip:
        return False
    return None if None in (added.family, in_it.family) else added.family is in_it.family


def _grades_are(how: str, added: Fluid, in_it: Fluid, base: KnowledgeBase) -> bool | None:
    if added.grade is not None and added.grade == in_it.grade:
        return True
    if how == "same":
        return None if None in (added.grade, in_it.grade) else False
    if added.kv100_mm2_s is None or in_it.kv100_mm2_s is None:
        return None
    thin, thick = sorted((added.kv100_mm2_s, in_it.kv100_mm2_s))
    return thick <= thin * base.limit("neighbour-kv100-times")


def _box_is(what: str, box: FillQuestion, base: KnowledgeBase) -> bool | None:
    """Whether a box is of a kind; a wet clutch that nobody speaks of is not there."""
    if what == "clutch":
        return box.wet_clutch is True
    if box.rings is None:
        return None
    if what == "rings":
        return bool(box.rings)
    facings = {ring.facing for ring in box.rings}
    is_lined = any(base.facings[facing].kind == "lined" for facing in facings if facing) or (
        None if None in facings else False
    )
    return is_lined if what == "lined" or is_lined is None else not is_lined
