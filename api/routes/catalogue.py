"""The knowledge, browsable: every id that stands in an answer resolves here."""

from collections.abc import Mapping
from typing import Annotated, Any

from fastapi import APIRouter

from api.problems import documented, unknown_entry
from api.routes.dependencies import Base, named
from api.strict_route import StrictRoute
from knowledge import catalogue
from knowledge.base import KnowledgeBase
from knowledge.catalogue import Entry
from knowledge.faq import FaqEntry, faq_entries
from knowledge.loading import schema as rows
from knowledge.symptom import rows as symptom_rows
from knowledge.symptom.rows import CheckRow, EvidenceRow, SuspectRow, SymptomRow

router = APIRouter(prefix="/v1", tags=["knowledge"], route_class=StrictRoute, responses=documented())
UNKNOWN = documented(404)


def entry_of(table: Mapping[str, Any], id: str, base: KnowledgeBase) -> Entry:
    """One entry of a table, or the refusal that names the known ids."""
    if id not in table:
        raise unknown_entry(id, table)
    return Entry(knowledge=base.stamp, entry=table[id])


@router.get("/facings")
async def facings(base: Base) -> catalogue.Facings:
    """Friction materials with what they stand, ring bodies, and how well each family of fluid serves each facing."""
    return catalogue.facings(base)


@router.get("/facings/{id}", responses=UNKNOWN)
async def facing(id: Annotated[str, named("/v1/facings", "paper")], base: Base) -> Entry[catalogue.Facing]:
    """One friction material with what it stands, how it grips and how it takes up heat."""
    return entry_of({entry.id: entry for entry in catalogue.facing_entries(base)}, id, base)


@router.get("/bodies")
async def bodies(base: Base) -> catalogue.Bodies:
    """What rings are made of beneath their facing; they stand in `/v1/facings` too."""
    return catalogue.Bodies(knowledge=base.stamp, bodies=tuple(base.bodies.values()))


@router.get("/bodies/{id}", responses=UNKNOWN)
async def body(id: Annotated[str, named("/v1/bodies", "steel")], base: Base) -> Entry[rows.BodyRow]:
    """What a ring is made of beneath its facing."""
    return entry_of(base.bodies, id, base)


@router.get("/lubricants")
async def lubricants(base: Base) -> catalogue.Lubricants:
    """Lubricant classes with the edges of their bands, and the families they belong to."""
    return catalogue.lubricants(base)


@router.get("/lubricants/{id}", responses=UNKNOWN)
async def lubricant(
    id: Annotated[str, named("/v1/lubricants", "gl-4-75w-90")], base: Base
) -> Entry[catalogue.LubricantEntry]:
    """One lubricant class with the edges of its band."""
    return entry_of({entry.id: entry for entry in catalogue.lubricant_entries(base)}, id, base)


@router.get("/families")
async def families(base: Base) -> catalogue.Families:
    """Families of fluid, by API category or kind; they stand in `/v1/lubricants` too."""
    return catalogue.Families(knowledge=base.stamp, families=tuple(base.families.values()))


@router.get("/families/{id}", responses=UNKNOWN)
async def family(id: Annotated[str, named("/v1/families", "mtf")], base: Base) -> Entry[rows.FamilyRow]:
    """One family of fluid."""
    return entry_of(base.families, id, base)


@router.get("/grades")
async def grades(base: Base) -> catalogue.Grades:
    """Viscosity grades: SAE J306 in each edition, SAE J300, ISO 3448."""
    return catalogue.grades(base)


@router.get("/grades/{id}", responses=UNKNOWN)
async def grade(id: Annotated[str, named("/v1/grades", "75w-90")], base: Base) -> catalogue.Grades:
    """What a grade name means in each scale that has it; `75w-90` by its parts, `vg-32` as ISO 3448."""
    known = catalogue.grade_ids(base)
    parts = id.split("-")
    if id not in known and (len(parts) > 2 or not set(parts) <= set(known)):
        raise unknown_entry(id, known)
    return catalogue.grades(base, id)


@router.get("/rules")
async def rules(base: Base) -> catalogue.Rules:
    """Every rule: what it claims, why, and which facts of the box it reads."""
    return catalogue.rules(base)


@router.get("/rules/{id}", responses=UNKNOWN)
async def rule(
    id: Annotated[str, named("/v1/rules", "lined-rings-burn-under-thick-gear-oil")], base: Base
) -> Entry[catalogue.RuleEntry]:
    """One rule."""
    return entry_of({entry.id: entry for entry in catalogue.rule_entries()}, id, base)


@router.get("/cautions")
async def cautions(base: Base) -> catalogue.Cautions:
    """Plain warnings and when each applies."""
    return catalogue.Cautions(knowledge=base.stamp, cautions=tuple(base.cautions.values()))


@router.get("/cautions/{id}", responses=UNKNOWN)
async def caution(id: Annotated[str, named("/v1/cautions", "yellow-metal")], base: Base) -> Entry[rows.CautionRow]:
    """One warning."""
    return entry_of(base.cautions, id, base)


@router.get("/symptoms")
async def symptoms(base: Base) -> catalogue.Symptoms:
    """Complaints in the customer's words."""
    return catalogue.Symptoms(knowledge=base.stamp, symptoms=tuple(base.by_id(SymptomRow).values()))


@router.get("/symptoms/{id}", responses=UNKNOWN)
async def symptom(
    id: Annotated[str, named("/v1/symptoms", "grinds-one-gear")], base: Base
) -> Entry[symptom_rows.SymptomRow]:
    """One complaint."""
    return entry_of(base.by_id(SymptomRow), id, base)


@router.get("/suspects")
async def suspects(base: Base) -> catalogue.Suspects:
    """What may be behind a complaint, fluid or hardware, with every piece of evidence and its steps."""
    return catalogue.Suspects(
        knowledge=base.stamp, suspects=tuple(base.by_id(SuspectRow).values()), evidence=tuple(base.rows(EvidenceRow))
    )


@router.get("/suspects/{id}", responses=UNKNOWN)
async def suspect(
    id: Annotated[str, named("/v1/suspects", "worn-ring-grip")], base: Base
) -> Entry[symptom_rows.SuspectRow]:
    """One suspect."""
    return entry_of(base.by_id(SuspectRow), id, base)


@router.get("/checks")
async def checks(base: Base) -> catalogue.Checks:
    """What a person can do to tell suspects apart, and what each result points to."""
    return catalogue.Checks(knowledge=base.stamp, checks=tuple(base.by_id(CheckRow).values()))


@router.get("/checks/{id}", responses=UNKNOWN)
async def check(id: Annotated[str, named("/v1/checks", "grip-test")], base: Base) -> Entry[symptom_rows.CheckRow]:
    """One check."""
    return entry_of(base.by_id(CheckRow), id, base)


@router.get("/sources")
async def sources(base: Base) -> catalogue.Sources:
    """Where every figure and claim comes from, and how far it can be trusted."""
    return catalogue.Sources(knowledge=base.stamp, sources=tuple(base.sources.values()))


@router.get("/sources/{id}", responses=UNKNOWN)
async def source(id: Annotated[str, named("/v1/sources", "sae-j306-201902")], base: Base) -> Entry[rows.SourceRow]:
    """One source."""
    return entry_of(base.sources, id, base)


@router.get("/faq")
async def faq(base: Base) -> catalogue.Faq:
    """Questions customers ask, with careful answers whose numbers are filled in from the tables."""
    return catalogue.Faq(knowledge=base.stamp, faq=faq_entries(base))


@router.get("/faq/{id}", responses=UNKNOWN)
async def faq_of(id: Annotated[str, named("/v1/faq", "lined-rings")], base: Base) -> Entry[FaqEntry]:
    """One question and its answer."""
    return entry_of({entry.id: entry for entry in faq_entries(base)}, id, base)


@router.get("/duties")
async def duties(base: Base) -> catalogue.Duties:
    """Ways of driving and the sump temperatures that go with them."""
    return catalogue.Duties(knowledge=base.stamp, duties=tuple(base.duties.values()))


@router.get("/duties/{id}", responses=UNKNOWN)
async def duty(id: Annotated[str, named("/v1/duties", "street")], base: Base) -> Entry[rows.DutyRow]:
    """One way of driving."""
    return entry_of(base.duties, id, base)


@router.get("/knowledge")
async def knowledge(base: Base) -> catalogue.Knowledge:
    """Version, digest, editions, counts, and every table whole."""
    return catalogue.knowledge_export(base)
