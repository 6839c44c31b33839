"""A viscosity grade as printed on a label or in a book, read, and taken apart into the rows of its scale."""

import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache, lru_cache
from typing import NamedTuple

from knowledge.base import DEFAULT_J306_EDITION, KnowledgeBase
from knowledge.loading.scales import J300Row, J306Row
from knowledge.text import squeezed

SCALE_NAMES = {"sae-j306": "gear-oil scale SAE J306", "sae-j300": "engine-oil scale SAE J300"}
NUMBER = re.compile(r"(\d+)\s*(W(?![A-Z]))?")
INDUSTRIAL = re.compile(r"(?:ISO[^A-Z0-9]*)?VG[^A-Z0-9]*(\d+)|ISO[^A-Z0-9]*(\d+)")
DASHES = re.compile("[\u2010-\u2015\u2212]")


class GradeName(NamedTuple):
    """A grade name: the scale that has it, its W row and its hot row; one of the two may be missing."""

    scale: str
    winter: J306Row | J300Row | None
    summer: J306Row | J300Row | None

    @property
    def kv100_min_mm2_s(self) -> float:
        """The least KV100 that both parts allow."""
        return max(row.kv100_min_mm2_s for row in (self.winter, self.summer) if row)


class Printed(NamedTuple):
    """What a text says: grades as their scale writes them, the family and the edition that stand beside them.

    An industrial grade has the gear-oil grade that is about as thick, where one is. `says_hypoid` is no family: old
    books call mild oils so.
    """

    grades: tuple[str, ...]
    family: str | None = None
    edition: str = DEFAULT_J306_EDITION
    iso_vg: str | None = None
    says_hypoid: bool = False


@lru_cache(maxsize=1_000)
def printed(text: str, base: KnowledgeBase) -> Printed | None:
    """A grade text read, `SAE 75w 90`, `75/90`, `7590` and `75W-90 synthetic` alike; None where it is none."""
    text = DASHES.sub("-", unicodedata.normalize("NFKC", text)).upper()
    says_hypoid, text = "HYPOID" in text, text.replace("HYPOID", " ")
    families, text = _families_in(text, base)
    edition = DEFAULT_J306_EDITION
    for other in {row.edition for row in base.sae_j306}:
        if re.search(rf"(?<!\d){other}(?!\d)", text):
            edition, text = other, re.sub(rf"(?<!\d){other}(?!\d)", " ", text)
    found = Printed((), _one_family(families, base), edition, None, says_hypoid)
    if industrial := INDUSTRIAL.search(text):
        number = industrial[1] or industrial[2]
        if number not in {row.grade for row in base.iso_3448}:
            return None
        like = base.meanings.get(("grades", f"vg{number}"))
        return found._replace(grades=(like.ids,) if like else (), iso_vg=number)
    numbers = NUMBER.findall(text)
    if numbers:
        grades = _grades_of(numbers, base)
    else:
        words = squeezed(text)
        grades = tuple({row.grade for row in base.lubricant_rows.values() if words and squeezed(row.grade) == words})
    if grades or ((families or says_hypoid) and (not numbers or found.family == "atf")):
        return found._replace(grades=grades)
    return None


def _grades_of(numbers: Iterable[tuple[str, str]], base: KnowledgeBase) -> tuple[str, ...]:
    """The grades that numbers spell, each with or without its W; none where one of them belongs to no grade."""
    left, grades, winter = list(numbers), [], ""
    while left:
        number, w = left.pop(0)
        splits = [f"{number[:at]}W-{number[at:]}" for at in range(1, len(number))] if not w else []
        after, is_alone = (left[0][0], bool(left[0][1])) if left else ("", True)
        alone = [f"{number}{w}"] if is_alone or not w else []
        for grade in (f"{number}W-{after}", f"{winter}-{number}", *alone, *splits):
            if _rows_of(grade, DEFAULT_J306_EDITION, base):
                break
        else:
            return ()
        if grade == f"{number}W-{after}":
            left.pop(0)
        grades.append(grade)
        winter = grade.partition("-")[0] if "W" in grade else ""
    return tuple(dict.fromkeys(grades))


@lru_cache(maxsize=1_000)
def grade_name(text: str | None, base: KnowledgeBase) -> GradeName | None:
    """The grade that a text names in the edition it says, None when neither SAE scale has it, or it names several."""
    found = printed(text or "", base)
    if found is None or len(found.grades) != 1 or found.iso_vg:
        return None
    return _rows_of(found.grades[0], found.edition, base) or _rows_of(found.grades[0], DEFAULT_J306_EDITION, base)


def _rows_of(grade: str, edition: str, base: KnowledgeBase) -> GradeName | None:
    """The rows of a grade as its scale writes it; the two scales share no name, and no grade is without a viscosity."""
    parts = re.fullmatch(r"(\d+W)(?:-(\d+))?|(\d+)", grade)
    if parts is None:
        return None
    for scale, rows in _scales(edition, base).items():
        winter, summer = rows.get(parts[1] or ""), rows.get(hot := parts[2] or parts[3] or "")
        if (winter is not None) == bool(parts[1]) and (summer is not None) == bool(hot):
            found = GradeName(scale, winter, summer)
            if summer is None or summer.kv100_max_mm2_s is None or found.kv100_min_mm2_s < summer.kv100_max_mm2_s:
                return found
    return None


@cache
def _scales(edition: str, base: KnowledgeBase) -> Mapping[str, Mapping[str, J306Row | J300Row]]:
    return {
        "sae-j306": {row.grade: row for row in base.sae_j306 if row.edition == edition},
        "sae-j300": {row.grade: row for row in base.sae_j300},
    }


def is_graded_so(family: str, found: Printed, base: KnowledgeBase) -> bool:
    """Whether a family has grades of the scale that a text names one of; an industrial grade says nothing of that."""
    names = [name for grade in found.grades if (name := _rows_of(grade, found.edition, base))]
    return not names or bool(found.iso_vg) or any(name.scale in base.families[family].scales for name in names)


def grades_in(text: str | None, base: KnowledgeBase) -> tuple[str, ...]:
    """The grades that a text names, as their scale writes them."""
    found = printed(text, base) if text else None
    return found.grades if found else ()


def _families_in(text: str, base: KnowledgeBase) -> tuple[set[str], str]:
    """The families that a text names, and the rest of it."""
    families: set[str] = set()
    for pattern, ids in _family_words(base):
        text, count = pattern.subn(" ", text)
        families.update(ids if count else ())
    return families, text


@cache
def _family_words(base: KnowledgeBase) -> Sequence[tuple[re.Pattern[str], Sequence[str]]]:
    """Every word for a family, the longest first; not those that end in a grade, such as `synthetic 50`."""
    rows = (row for row in base.meanings.values() if row.kind == "families" and row.how != "ask")
    words: dict[str, Sequence[str]] = {id: (id,) for id in base.families} | {row.word: row.ids.split() for row in rows}
    return [
        (re.compile(rf"(?<![A-Z0-9]){'[^A-Z0-9]*'.join(parts)}[+]?(?![A-Z0-9])"), ids)
        for word, ids in sorted(words.items(), key=lambda item: -len(item[0]))
        if (parts := re.findall(r"[A-Z]+|\d+", word.upper())) and not re.search(r"\D\d\d$", word)
    ]


def _one_family(named: set[str], base: KnowledgeBase) -> str | None:
    """The family of all that is named at once; None where they cannot be one."""
    if len(named) > 1:
        ids = "-".join(sorted(named))
        if ids in base.families:
            return ids
        named = named - {"mt-1"} - ({"gl-5"} if "gl-5-limited-slip" in named else set())
    return next(iter(named)) if len(named) == 1 else None


def every_grade(base: KnowledgeBase) -> Iterator[str]:
    """Every grade of a class, and of the scales."""
    rows: tuple[J306Row | J300Row, ...] = (*base.sae_j306, *base.sae_j300)
    yield from dict.fromkeys([*(oil.grade for oil in base.lubricants), *(row.grade for row in rows)])
    yield from (f"ISO VG {row.grade}" for row in base.iso_3448)
