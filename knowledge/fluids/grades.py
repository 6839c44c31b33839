"""A viscosity grade as printed on a label, taken apart into the rows of its scale."""

import re
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import NamedTuple

from knowledge.base import DEFAULT_J306_EDITION, KnowledgeBase
from knowledge.loading.scales import J300Row, J306Row

SCALE_NAMES = {"sae-j306": "gear-oil scale SAE J306", "sae-j300": "engine-oil scale SAE J300"}


class GradeName(NamedTuple):
    """A grade name: the scale that has it, its W row and its hot row; one of the two may be missing."""

    scale: str
    winter: J306Row | J300Row | None
    summer: J306Row | J300Row | None

    @property
    def kv100_min_mm2_s(self) -> float:
        """The least KV100 that both parts allow."""
        return max(row.kv100_min_mm2_s for row in (self.winter, self.summer) if row)


def grade_name(text: str | None, base: KnowledgeBase) -> GradeName | None:
    """The grade that a text names, None when neither SAE scale has it; the two scales share no name."""
    parts = re.fullmatch(r"(\d+W)?(\d+)?", plain_grade(text or ""))
    if not parts or not any(parts.groups()):
        return None
    scales: Mapping[str, Sequence[J306Row | J300Row]] = {
        "sae-j306": [row for row in base.sae_j306 if row.edition == DEFAULT_J306_EDITION],
        "sae-j300": base.sae_j300,
    }
    for scale, rows in scales.items():
        by_name = {row.grade: row for row in rows}
        winter, summer = (by_name.get(part or "") for part in parts.groups())
        if (winter is not None) == bool(parts[1]) and (summer is not None) == bool(parts[2]):
            return GradeName(scale, winter, summer)
    return None


NOT_OF_THE_GRADE = re.compile(r"(?<![A-Z])(SAE|API|EP)(?![A-Z])")

CATEGORY = re.compile(r"(?<![A-Z0-9])(GL|MT)[- ]?(\d)(?!\d)|(?<![A-Z0-9])(MTF|ATF)(?![A-Z])")

PARTS = re.compile(r"\d+W|\d+")


@lru_cache(maxsize=1_000)
def plain_grade(grade: str) -> str:
    """A grade without the ways of writing it: `SAE 75w 90`, `75W-90 synthetic` and `75W-90` are one."""
    text = CATEGORY.sub(" ", NOT_OF_THE_GRADE.sub(" ", grade.upper()))
    parts = PARTS.findall(re.sub(r"(?<=\d)\s+(?=W)", "", text))
    return "".join(parts) or re.sub(r"[^A-Z]", "", text)


def category_in(grade: str, base: KnowledgeBase) -> str | None:
    """The family that a grade text names beside the grade, such as the `GL-5` of `75W-90 GL-5`."""
    found = ["-".join(part.lower() for part in match if part) for match in CATEGORY.findall(grade.upper())]
    family = "-".join(dict.fromkeys(sorted(found)))
    return family if family in base.families else None
