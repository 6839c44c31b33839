"""The rows of the viscosity scales, browsable, and a grade by its id."""

from knowledge.base import KnowledgeBase
from knowledge.loading import scales
from knowledge.parts.provenance import KnowledgeStamp, ResponseModel

SCALES = ("sae_j306", "sae_j300", "iso_3448")


class Grades(ResponseModel):
    """The rows of the viscosity scales: SAE J306 in each edition, SAE J300, ISO 3448."""

    knowledge: KnowledgeStamp
    sae_j306: tuple[scales.J306Row, ...]
    sae_j300: tuple[scales.J300Row, ...]
    iso_3448: tuple[scales.IsoRow, ...]


def scale_rows(base: KnowledgeBase, id: str | None = None) -> Grades:
    """The rows of the viscosity scales; with an id those it names: `75w-90` by its two parts, `vg-32` as ISO 3448."""
    tables = {name: getattr(base, name) for name in SCALES}
    if id is not None:
        parts = (id, *id.split("-"))
        tables = {
            name: tuple(row for row in rows if grade_id(name, row.grade) in parts) for name, rows in tables.items()
        }
    return Grades(knowledge=base.stamp, **tables)


def grade_ids(base: KnowledgeBase) -> tuple[str, ...]:
    """The id of every single grade, and of the grades of two parts that classes have; scales share a name."""
    single = tuple(dict.fromkeys(grade_id(name, row.grade) for name in SCALES for row in getattr(base, name)))
    graded = dict.fromkeys(row.grade.lower() for row in base.lubricant_rows.values())
    return (*single, *(grade for grade in graded if grade not in single and set(grade.split("-")) <= set(single)))


def grade_id(scale: str, grade: str) -> str:
    """A grade as it stands in a path."""
    return f"vg-{grade}" if scale == "iso_3448" else grade.lower()
