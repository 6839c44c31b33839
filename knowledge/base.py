"""The knowledge base: every table, indexed and frozen."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from knowledge import rows, scale_rows
from knowledge.oils import Oil, oil_of_class
from knowledge.shifts import rows as shift_rows
from knowledge.symptoms import rows as symptom_rows
from knowledge.told import KnowledgeStamp

DEFAULT_J306_EDITION = "2019"


def _by_id(table: tuple[Any, ...], key: str = "id") -> Mapping[str, Any]:
    return MappingProxyType({getattr(row, key): row for row in table})


def oil_of_row(row: rows.LubricantRow, tables: Mapping[str, tuple[Any, ...]]) -> Oil:
    """The oil of a class, with its family and its grade looked up in checked tables; raises OutOfRange."""
    scales = {
        "sae-j306": tuple(grade for grade in tables["sae_j306"] if grade.edition == DEFAULT_J306_EDITION),
        "sae-j300": tables["sae_j300"],
        "none": (),
    }
    return oil_of_class(
        row,
        family=next(family for family in tables["families"] if family.id == row.family),
        grade_rows=scales[row.scale],
        reference_oils=tables["astm_d2270"],
    )


@dataclass(frozen=True, slots=True, repr=False, eq=False)
class KnowledgeBase:
    """Everything the rules may know; read once, never changed."""

    version: str
    digest: str
    sources: Mapping[str, rows.SourceRow]
    families: Mapping[str, rows.FamilyRow]
    facings: Mapping[str, rows.FacingRow]
    bodies: Mapping[str, rows.BodyRow]
    lubricants: Mapping[str, rows.LubricantRow]
    oils: tuple[Oil, ...]
    usual_oils: Mapping[str, Oil]
    sae_j306: tuple[scale_rows.J306Row, ...]
    sae_j300: tuple[scale_rows.J300Row, ...]
    iso_3448: tuple[scale_rows.IsoRow, ...]
    astm_d2270: tuple[scale_rows.ReferenceOilRow, ...]
    copper_strip: Mapping[str, scale_rows.CopperStripRow]
    facing_families: Mapping[tuple[str, str], rows.FacingFamilyRow]
    fitness: Mapping[tuple[str, str], int]
    ring_lands: Mapping[tuple[str, str], rows.RingLandRow]
    friction: tuple[rows.FrictionRow, ...]
    defaults: tuple[rows.DefaultRow, ...]
    thresholds: Mapping[str, rows.ThresholdRow]
    duties: Mapping[str, rows.DutyRow]
    unknowns: Mapping[str, rows.UnknownRow]
    plausible_values: tuple[rows.PlausibleValueRow, ...]
    value_words: Mapping[tuple[str, str], str]
    cautions: Mapping[str, rows.CautionRow]
    symptoms: Mapping[str, symptom_rows.SymptomRow]
    suspects: Mapping[str, symptom_rows.SuspectRow]
    evidence: tuple[symptom_rows.EvidenceRow, ...]
    checks: Mapping[str, symptom_rows.CheckRow]
    faq: Mapping[str, rows.FaqRow]
    words: Mapping[str, rows.WordRow]
    facing_limits: tuple[shift_rows.FacingLimitRow, ...]
    facing_thermal: tuple[shift_rows.FacingThermalRow, ...]
    friction_by_fluid: Mapping[tuple[str, str], shift_rows.FrictionByFluidRow]
    shift_bounds: tuple[shift_rows.ShiftBoundRow, ...]

    @classmethod
    def of(cls, tables: Mapping[str, tuple[Any, ...]], *, version: str, digest: str) -> "KnowledgeBase":
        """The base made of checked tables."""
        oils = tuple(oil_of_row(row, tables) for row in tables["lubricants"])
        return cls(
            version=version,
            digest=digest,
            sources=_by_id(tables["sources"]),
            families=_by_id(tables["families"]),
            facings=_by_id(tables["facings"]),
            bodies=_by_id(tables["bodies"]),
            lubricants=_by_id(tables["lubricants"]),
            oils=oils,
            usual_oils=MappingProxyType(
                {row.id: next(oil for oil in oils if oil.id == row.usual_lubricant) for row in tables["facings"]}
            ),
            sae_j306=tables["sae_j306"],
            sae_j300=tables["sae_j300"],
            iso_3448=tables["iso_3448"],
            astm_d2270=tables["astm_d2270"],
            copper_strip=_by_id(tables["copper_strip"], "rating"),
            facing_families=MappingProxyType({(row.facing, row.family): row for row in tables["facing_families"]}),
            fitness=MappingProxyType(
                {
                    (row.facing, row.family): rows.FITNESS_FROM_BEST.index(row.fitness)
                    for row in tables["facing_families"]
                }
            ),
            ring_lands=MappingProxyType({(row.facing, row.condition): row for row in tables["ring_lands"]}),
            friction=tables["friction"],
            defaults=tables["defaults"],
            thresholds=_by_id(tables["thresholds"]),
            duties=_by_id(tables["duties"]),
            unknowns=_by_id(tables["unknowns"]),
            plausible_values=tables["plausible_values"],
            value_words=MappingProxyType({(row.field, row.value): row.words for row in tables["plausible_values"]}),
            cautions=_by_id(tables["cautions"]),
            symptoms=_by_id(tables["symptoms"]),
            suspects=_by_id(tables["suspects"]),
            evidence=tables["evidence"],
            checks=_by_id(tables["checks"]),
            faq=_by_id(tables["faq"]),
            words=_by_id(tables["words"]),
            facing_limits=tables["facing_limits"],
            facing_thermal=tables["facing_thermal"],
            friction_by_fluid=MappingProxyType({(row.facing, row.family): row for row in tables["friction_by_fluid"]}),
            shift_bounds=tables["shift_bounds"],
        )

    def __repr__(self) -> str:
        return f"KnowledgeBase({self.version}, {self.digest})"

    @property
    def stamp(self) -> KnowledgeStamp:
        """Version and digest, as every answer carries them."""
        return KnowledgeStamp(version=self.version, digest=self.digest)

    def limit(self, id: str) -> float:
        """The value of a threshold, one of `named_figures.THRESHOLDS`."""
        return self.thresholds[id].value

    @property
    def copper_strip_wanted(self) -> str:
        """The worst ASTM D130 rating that speaks for an oil beside copper alloys."""
        return [rating for rating, row in self.copper_strip.items() if row.reassuring][-1]

    def default(self, part: str, quantity: str) -> rows.DefaultRow:
        """The row of an assumed shape."""
        return next(row for row in self.defaults if (row.part, row.quantity) == (part, quantity))

    def copper_rank(self, rating: str) -> int:
        """Position of an ASTM D130 rating, 0 for the best."""
        return tuple(self.copper_strip).index(rating)
