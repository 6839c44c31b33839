"""A viscosity grade as printed on a label, taken apart into the rows of its scale."""

import re
from collections.abc import Mapping
from typing import NamedTuple

from knowledge.base import DEFAULT_J306_EDITION, KnowledgeBase
from knowledge.box.named import plain_grade
from knowledge.scale_rows import J300Row, J306Row

SCALE_NAMES = {"sae-j306": "gear-oil scale SAE J306", "sae-j300": "engine-oil scale SAE J300"}


class GradeName(NamedTuple):
    """A grade name: the scale that has it, its W row and its hot row; one of the two may be missing."""

    scale: str
    winter: J306Row | J300Row | None
    summer: J306Row | J300Row | None


def grade_name(text: str | None, base: KnowledgeBase, edition: str = DEFAULT_J306_EDITION) -> GradeName | None:
    """The grade that a text names, None when neither SAE scale has it; the two scales share no name."""
    parts = re.fullmatch(r"(\d+W)?(\d+)?", plain_grade(text or ""))
    if not parts or not any(parts.groups()):
        return None
    for scale, rows in _scales(base, edition).items():
        found = [rows.get(part) if part else None for part in parts.groups()]
        if all(row is not None for row, part in zip(found, parts.groups()) if part):
            return GradeName(scale, *found)
    return None


def _scales(base: KnowledgeBase, edition: str) -> Mapping[str, Mapping[str, J306Row | J300Row]]:
    return {
        "sae-j306": {row.grade: row for row in base.sae_j306 if row.edition == edition},
        "sae-j300": {row.grade: row for row in base.sae_j300},
    }
