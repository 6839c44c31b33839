"""The knowledge for browsing: the rows of the tables, served as they are."""

from collections.abc import Callable, Mapping
from types import GenericAlias
from typing import Any, Generic, NamedTuple, TypeVar

from pydantic import BaseModel, Field, create_model

from knowledge.base import DEFAULT_J306_EDITION, KnowledgeBase
from knowledge.every_table import EVERY_RULE, MODELS
from knowledge.faq import FaqEntry, faq_entries
from knowledge.loading import custom_rows, facing_rows, fluid_rows, schema
from knowledge.loading.edition import Change
from knowledge.loading.schema import Row
from knowledge.lubricant import Lubricant
from knowledge.parts.provenance import Citation, KnowledgeStamp, ResponseModel
from knowledge.symptom import rows as symptom_rows

Item = TypeVar("Item")


class Entry(ResponseModel, Generic[Item]):
    """One entry of a catalogue."""

    knowledge: KnowledgeStamp
    entry: Item


class BandCorner(ResponseModel):
    """One corner of the band of a class."""

    kv40_mm2_s: float
    kv100_mm2_s: float


class LubricantEntry(fluid_rows.LubricantRow):
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


class Facing(facing_rows.FacingRow):
    """A friction material with what it stands, how it grips and how it takes up heat; `chosen` rows are used."""

    limits: tuple[facing_rows.FacingLimitRow, ...]
    friction: tuple[facing_rows.FrictionRow, ...]
    friction_by_fluid: tuple[facing_rows.FrictionByFluidRow, ...]
    heat: tuple[facing_rows.FacingThermalRow, ...]


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


def lubricant_entries(base: KnowledgeBase) -> tuple[LubricantEntry, ...]:
    """Every class with its band computed."""
    return tuple(_lubricant(base.lubricant_rows[oil.id], oil) for oil in base.lubricants)


def _lubricant(row: fluid_rows.LubricantRow, oil: Lubricant) -> LubricantEntry:
    filled = {name: getattr(oil, name) for name in ("kv100_min_mm2_s", "kv100_max_mm2_s", "cold_limit_c")}
    corners = tuple(
        BandCorner(kv40_mm2_s=round(corner.kv40_mm2_s, 2), kv100_mm2_s=corner.kv100_mm2_s) for corner in oil.corners
    )
    return LubricantEntry(**{**row.model_dump(), **filled}, corners=corners)


def rule_entries(base: KnowledgeBase) -> tuple[RuleEntry, ...]:
    """Every rule, in the order in which an answer lists them."""
    return tuple(RuleEntry(**{name: getattr(rule, name) for name in RuleEntry.model_fields}) for rule in EVERY_RULE)


# The entries that are more than the rows of a table.
COMPUTED: Mapping[type[BaseModel], Callable[[KnowledgeBase], tuple[BaseModel, ...]]] = {
    Facing: facing_entries,
    LubricantEntry: lubricant_entries,
    RuleEntry: rule_entries,
    Change: lambda base: base.changes,
    FaqEntry: faq_entries,
}


def _entries(model: type[BaseModel], base: KnowledgeBase) -> tuple[BaseModel, ...]:
    return base.rows(model) if issubclass(model, Row) and model not in COMPUTED else COMPUTED[model](base)


class Catalogue(NamedTuple):
    """A part of the knowledge to browse: what its list holds, what one entry is, and an id as an example.

    `lists` has its own entries first, under its name.
    """

    about: str
    one: str
    about_one: str
    example: str
    lists: Mapping[str, type[BaseModel]]

    @property
    def name(self) -> str:
        """Its name."""
        return next(iter(self.lists))

    @property
    def path(self) -> str:
        """Its name as it stands in an address."""
        return self.name.replace("_", "-")

    @property
    def model(self) -> type[ResponseModel]:
        """The model of the whole list."""
        return _listing(self.name.title().replace("_", ""), self.about, self.lists, knowledge=(KnowledgeStamp, ...))

    def entries(self, base: KnowledgeBase) -> Mapping[str, BaseModel]:
        """Its own entries by their ids."""
        return {str(vars(entry)["id"]): entry for entry in _entries(self.lists[self.name], base)}

    def answer(self, base: KnowledgeBase) -> Mapping[str, Any]:
        """The whole list, by the fields of its model."""
        return {"knowledge": base.stamp, **{name: _entries(model, base) for name, model in self.lists.items()}}


def _listing(name: str, about: str, lists: Mapping[str, type[BaseModel]], **others: Any) -> type[ResponseModel]:
    """The model of an answer that lists entries, each kind under its name, beside other fields."""
    rows = {part: (GenericAlias(tuple, (model, ...)), ...) for part, model in lists.items()}
    fields: dict[str, Any] = {**others, **rows}
    return create_model(name, __base__=ResponseModel, __doc__=about, **fields)


CATALOGUES = (
    Catalogue(
        "Friction materials with what they stand, ring bodies, and how well each family of fluid serves each facing.",
        "facing",
        "One friction material with what it stands, how it grips and how it takes up heat.",
        "paper",
        {"facings": Facing, "bodies": facing_rows.BodyRow, "fitness": facing_rows.FacingFamilyRow},
    ),
    Catalogue(
        "What rings are made of beneath their facing; they stand in `/v1/facings` too.",
        "body",
        "What a ring is made of beneath its facing.",
        "steel",
        {"bodies": facing_rows.BodyRow},
    ),
    Catalogue(
        "Lubricant classes with the edges of their bands, and the families they belong to.",
        "lubricant",
        "One lubricant class with the edges of its band.",
        "gl-4-75w-90",
        {"lubricants": LubricantEntry, "families": fluid_rows.FamilyRow},
    ),
    Catalogue(
        "Families of fluid, by API category or kind; they stand in `/v1/lubricants` too.",
        "family",
        "One family of fluid.",
        "mtf",
        {"families": fluid_rows.FamilyRow},
    ),
    Catalogue(
        "Every rule: what it claims, why, and which facts of the box it reads.",
        "rule",
        "One rule.",
        "lined-rings-burn-under-thick-gear-oil",
        {"rules": RuleEntry},
    ),
    Catalogue(
        "Plain warnings and when each applies.",
        "caution",
        "One warning.",
        "yellow-metal",
        {"cautions": schema.CautionRow},
    ),
    Catalogue(
        "Complaints in the customer's words.",
        "symptom",
        "One complaint.",
        "grinds-one-gear",
        {"symptoms": symptom_rows.SymptomRow},
    ),
    Catalogue(
        "What may be behind a complaint, fluid or hardware, with every piece of evidence and its steps.",
        "suspect",
        "One suspect.",
        "worn-ring-grip",
        {"suspects": symptom_rows.SuspectRow, "evidence": symptom_rows.EvidenceRow},
    ),
    Catalogue(
        "What a person can do to tell suspects apart, and what each result points to.",
        "check",
        "One check.",
        "grip-test",
        {"checks": symptom_rows.CheckRow},
    ),
    Catalogue(
        "Where every figure and claim comes from, and how far it can be trusted.",
        "source",
        "One source.",
        "sae-j306-201902",
        {"sources": schema.SourceRow},
    ),
    Catalogue(
        "Questions customers ask, with careful answers whose numbers are filled in from the tables.",
        "faq_of",
        "One question and its answer.",
        "lined-rings",
        {"faq": FaqEntry},
    ),
    Catalogue(
        "Ways of driving and the sump temperatures that go with them.",
        "duty",
        "One way of driving.",
        "street",
        {"duties": schema.DutyRow},
    ),
    Catalogue(
        "Kinds of box, a layout or one of its eras, with what the trade meets in them and usually fills.",
        "box_kind",
        "One kind of box.",
        "front-drive",
        {
            "box_kinds": custom_rows.BoxKindRow,
            "how_often": custom_rows.HowOftenRow,
            "usual_fills": custom_rows.UsualFillRow,
        },
    ),
    Catalogue(
        "Editions of the tables, and which answers each changes.",
        "change",
        "One edition.",
        "2026.11.0",
        {"changes": Change},
    ),
)


class Editions(ResponseModel):
    """Editions of a grade scale that are kept, and the one used unless another is asked for."""

    kept: tuple[str, ...]
    default: str


Tables = _listing("Tables", "Every table, whole.", {file.partition(".")[0]: model for file, model in MODELS.items()})


class Knowledge(ResponseModel):
    """The whole export: which edition this is, how much there is, and every table."""

    knowledge: KnowledgeStamp
    sae_j306_editions: Editions
    counts: dict[str, int]
    tables: Tables  # type: ignore[valid-type]  # made of the list of tables above


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
