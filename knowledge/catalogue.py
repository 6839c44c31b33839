"""The knowledge for browsing: the rows of the tables, served as they are."""

from collections.abc import Mapping
from types import GenericAlias
from typing import Any, Generic, TypeVar

from pydantic import Field, create_model

from knowledge import faq
from knowledge.base import DEFAULT_J306_EDITION, KnowledgeBase
from knowledge.drain.rules import LEFTOVER_RULES
from knowledge.faq import FaqEntry
from knowledge.judging.rules import RULES
from knowledge.jug.rules.label import LABEL_RULES, WINDOW_RULES
from knowledge.loading import facing_rows as shift_rows
from knowledge.loading import scales as scale_rows
from knowledge.loading import schema as rows
from knowledge.lubricant import Lubricant
from knowledge.parts.provenance import Citation, KnowledgeStamp, ResponseModel
from knowledge.rule import Rule
from knowledge.shift.rules.shift import SHIFT_RULES
from knowledge.symptom import rows as symptom_rows

MODELS: Mapping[str, type[rows.Row]] = {
    **rows.TABLES,
    **scale_rows.TABLES,
    **shift_rows.TABLES,
    **symptom_rows.TABLES,
    **faq.TABLES,
}

EVERY_RULE: tuple[Rule, ...] = (*RULES, *LABEL_RULES, *WINDOW_RULES, *LEFTOVER_RULES, *SHIFT_RULES)

Item = TypeVar("Item")

SCALES = ("sae_j306", "sae_j300", "iso_3448")


class Entry(ResponseModel, Generic[Item]):
    """One entry of a catalogue."""

    knowledge: KnowledgeStamp
    entry: Item


class BandCorner(ResponseModel):
    """One corner of the band of a class."""

    kv40_mm2_s: float
    kv100_mm2_s: float


class LubricantEntry(rows.LubricantRow):
    """A lubricant class with the edges of its band filled in from its grade."""

    kv100_min_mm2_s: float
    kv100_max_mm2_s: float
    corners: tuple[BandCorner, ...] = Field(description="Each edge of KV100 with each edge of the viscosity index.")


class RuleEntry(ResponseModel):
    """One rule: what it claims, why, and what it reads."""

    id: str
    claim: str
    because: str
    reads: tuple[str, ...]
    sources: tuple[Citation, ...]


class Facing(rows.FacingRow):
    """A friction material with what it stands, how it grips and how it takes up heat; `chosen` rows are used."""

    limits: tuple[shift_rows.FacingLimitRow, ...]
    friction: tuple[rows.FrictionRow, ...]
    friction_by_fluid: tuple[shift_rows.FrictionByFluidRow, ...]
    heat: tuple[shift_rows.FacingThermalRow, ...]


class Facings(ResponseModel):
    """Friction materials, what their rings are made of, and how fluids serve them."""

    knowledge: KnowledgeStamp
    facings: tuple[Facing, ...]
    bodies: tuple[rows.BodyRow, ...]
    fitness: tuple[rows.FacingFamilyRow, ...]


class Lubricants(ResponseModel):
    """Lubricant classes and their families."""

    knowledge: KnowledgeStamp
    lubricants: tuple[LubricantEntry, ...]
    families: tuple[rows.FamilyRow, ...]


class Bodies(ResponseModel):
    """What rings are made of beneath their facing."""

    knowledge: KnowledgeStamp
    bodies: tuple[rows.BodyRow, ...]


class Families(ResponseModel):
    """Families of fluid."""

    knowledge: KnowledgeStamp
    families: tuple[rows.FamilyRow, ...]


class Grades(ResponseModel):
    """The rows of the viscosity scales: SAE J306 in each edition, SAE J300, ISO 3448."""

    knowledge: KnowledgeStamp
    sae_j306: tuple[scale_rows.J306Row, ...]
    sae_j300: tuple[scale_rows.J300Row, ...]
    iso_3448: tuple[scale_rows.IsoRow, ...]


class Rules(ResponseModel):
    """Every rule, in the order in which an answer lists them."""

    knowledge: KnowledgeStamp
    rules: tuple[RuleEntry, ...]


class Cautions(ResponseModel):
    """Plain warnings."""

    knowledge: KnowledgeStamp
    cautions: tuple[rows.CautionRow, ...]


class Symptoms(ResponseModel):
    """Complaints in the customer's words."""

    knowledge: KnowledgeStamp
    symptoms: tuple[symptom_rows.SymptomRow, ...]


class Suspects(ResponseModel):
    """What may be behind a complaint, and what moves each suspect."""

    knowledge: KnowledgeStamp
    suspects: tuple[symptom_rows.SuspectRow, ...]
    evidence: tuple[symptom_rows.EvidenceRow, ...]


class Checks(ResponseModel):
    """What a person can do to tell suspects apart."""

    knowledge: KnowledgeStamp
    checks: tuple[symptom_rows.CheckRow, ...]


class Sources(ResponseModel):
    """Where figures and claims come from."""

    knowledge: KnowledgeStamp
    sources: tuple[rows.SourceRow, ...]


class Faq(ResponseModel):
    """Questions customers ask, with careful answers."""

    knowledge: KnowledgeStamp
    faq: tuple[FaqEntry, ...]


class Duties(ResponseModel):
    """Ways of driving and the sump temperatures that go with them."""

    knowledge: KnowledgeStamp
    duties: tuple[rows.DutyRow, ...]


_table_fields: dict[str, Any] = {
    file.partition(".")[0]: (GenericAlias(tuple, (model, ...)), ...) for file, model in MODELS.items()
}

Tables = create_model("Tables", __base__=ResponseModel, __doc__="Every table, whole.", **_table_fields)


class Editions(ResponseModel):
    """Editions of a grade scale that are kept, and the one used unless another is asked for."""

    kept: tuple[str, ...]
    default: str


class Knowledge(ResponseModel):
    """The whole export: which edition this is, how much there is, and every table."""

    knowledge: KnowledgeStamp
    sae_j306_editions: Editions
    counts: dict[str, int]
    tables: Tables


def facings(base: KnowledgeBase) -> Facings:
    """The catalogue of friction materials."""
    return Facings(
        knowledge=base.stamp,
        facings=facing_entries(base),
        bodies=tuple(base.bodies.values()),
        fitness=tuple(base.facing_families.values()),
    )


def facing_entries(base: KnowledgeBase) -> tuple[Facing, ...]:
    """Every friction material with its figures."""
    return tuple(
        Facing(
            **row.model_dump(),
            limits=tuple(item for item in base.facing_limits if item.facing == row.id),
            friction=tuple(item for item in base.friction if item.facing == row.id),
            friction_by_fluid=tuple(item for item in base.friction_by_fluid.values() if item.facing == row.id),
            heat=tuple(item for item in base.facing_thermal if item.material == row.id),
        )
        for row in base.facings.values()
    )


def lubricants(base: KnowledgeBase) -> Lubricants:
    """The catalogue of lubricant classes."""
    return Lubricants(knowledge=base.stamp, lubricants=lubricant_entries(base), families=tuple(base.families.values()))


def lubricant_entries(base: KnowledgeBase) -> tuple[LubricantEntry, ...]:
    """Every class with its band worked out."""
    return tuple(_lubricant(base.lubricant_rows[oil.id], oil) for oil in base.lubricants)


def _lubricant(row: rows.LubricantRow, oil: Lubricant) -> LubricantEntry:
    filled = {name: getattr(oil, name) for name in ("kv100_min_mm2_s", "kv100_max_mm2_s", "cold_limit_c")}
    corners = tuple(
        BandCorner(kv40_mm2_s=round(corner.kv40_mm2_s, 2), kv100_mm2_s=corner.kv100_mm2_s) for corner in oil.corners
    )
    return LubricantEntry(**{**row.model_dump(), **filled}, corners=corners)


def rules(base: KnowledgeBase) -> Rules:
    """The catalogue of rules."""
    return Rules(knowledge=base.stamp, rules=rule_entries())


def rule_entries() -> tuple[RuleEntry, ...]:
    """Every rule as it is shown."""
    return tuple(RuleEntry(**{name: getattr(rule, name) for name in RuleEntry.model_fields}) for rule in EVERY_RULE)


def grades(base: KnowledgeBase, id: str | None = None) -> Grades:
    """The rows of the viscosity scales; with an id those it names: `75w-90` by its two parts, `vg-32` as ISO 3448."""
    parts = None if id is None else (id, *id.split("-"))
    tables = {name: getattr(base, name) for name in SCALES}
    if parts is not None:
        tables = {
            name: tuple(row for row in table if grade_id(name, row.grade) in parts) for name, table in tables.items()
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


def knowledge_export(base: KnowledgeBase) -> Knowledge:
    """Everything, in one answer."""
    return Knowledge(
        knowledge=base.stamp,
        sae_j306_editions=Editions(
            kept=tuple(sorted({row.edition for row in base.sae_j306})), default=DEFAULT_J306_EDITION
        ),
        counts={name: len(table) for name, table in base.tables.items()} | {"rules": len(EVERY_RULE)},
        tables=Tables(**base.tables),
    )
