"""The knowledge base: every table, indexed and frozen."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, NamedTuple, TypeVar

from knowledge.loading import facing_rows as shift_rows
from knowledge.loading import scales as scale_rows
from knowledge.loading import schema
from knowledge.lubricant import Lubricant, oil_of_class
from knowledge.parts.provenance import KnowledgeStamp, Standing

AnyRow = TypeVar("AnyRow", bound=schema.Row)
DEFAULT_J306_EDITION = "2019"


def _by_id(table: tuple[Any, ...], key: str = "id") -> Mapping[str, Any]:
    return MappingProxyType({getattr(row, key): row for row in table})


class Quantity(NamedTuple):
    """A figure of a table with what is known of it; a formula takes its `value`."""

    id: str
    value: float
    unit: str
    source: str
    standing: Standing


def oil_of_row(row: schema.LubricantRow, tables: Mapping[str, tuple[Any, ...]]) -> Lubricant:
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
    sources: Mapping[str, schema.SourceRow]
    families: Mapping[str, schema.FamilyRow]
    facings: Mapping[str, schema.FacingRow]
    bodies: Mapping[str, schema.BodyRow]
    lubricant_rows: Mapping[str, schema.LubricantRow]
    lubricants: tuple[Lubricant, ...]
    usual_lubricants: Mapping[str, Lubricant]
    sae_j306: tuple[scale_rows.J306Row, ...]
    sae_j300: tuple[scale_rows.J300Row, ...]
    iso_3448: tuple[scale_rows.IsoRow, ...]
    astm_d2270: tuple[scale_rows.ReferenceOilRow, ...]
    copper_strip: Mapping[str, scale_rows.CopperStripRow]
    facing_families: Mapping[tuple[str, str], schema.FacingFamilyRow]
    fitness: Mapping[tuple[str, str], int]
    ring_lands: Mapping[tuple[str, str], schema.RingLandRow]
    friction: tuple[schema.FrictionRow, ...]
    defaults: tuple[schema.DefaultRow, ...]
    thresholds: Mapping[str, schema.ThresholdRow]
    duties: Mapping[str, schema.DutyRow]
    unknowns: Mapping[str, schema.UnknownRow]
    plausible_values: tuple[schema.PlausibleValueRow, ...]
    outcomes: tuple[schema.OutcomeRow, ...]
    value_words: Mapping[tuple[str, str], str]
    cautions: Mapping[str, schema.CautionRow]
    words: Mapping[str, schema.WordRow]
    facing_limits: tuple[shift_rows.FacingLimitRow, ...]
    facing_thermal: tuple[shift_rows.FacingThermalRow, ...]
    friction_by_fluid: Mapping[tuple[str, str], shift_rows.FrictionByFluidRow]
    shift_bounds: tuple[shift_rows.ShiftBoundRow, ...]
    tables: Mapping[str, tuple[Any, ...]]

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
            lubricant_rows=_by_id(tables["lubricants"]),
            lubricants=oils,
            usual_lubricants=MappingProxyType(
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
                    (row.facing, row.family): schema.FITNESS_FROM_BEST.index(row.fitness)
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
            outcomes=tables["outcomes"],
            value_words=MappingProxyType({(row.field, row.value): row.words for row in tables["plausible_values"]}),
            cautions=_by_id(tables["cautions"]),
            words=_by_id(tables["words"]),
            facing_limits=tables["facing_limits"],
            facing_thermal=tables["facing_thermal"],
            friction_by_fluid=MappingProxyType({(row.facing, row.family): row for row in tables["friction_by_fluid"]}),
            shift_bounds=tables["shift_bounds"],
            tables=MappingProxyType(dict(tables)),
        )

    def rows(self, model: type[AnyRow]) -> tuple[AnyRow, ...]:
        """The rows of the table that a package above this one declares by its row model."""
        return next((table for table in self.tables.values() if table and type(table[0]) is model), ())

    def by_id(self, model: type[AnyRow]) -> Mapping[str, AnyRow]:
        """The same rows by their ids."""
        return _by_id(self.rows(model))

    def ids(self, table: str) -> tuple[str, ...]:
        """The ids of a table."""
        return tuple(getattr(row, "rating" if table == "copper_strip" else "id") for row in self.tables[table])

    def __repr__(self) -> str:
        return f"KnowledgeBase({self.version}, {self.digest})"

    @property
    def stamp(self) -> KnowledgeStamp:
        """Version and digest, as every answer carries them."""
        return KnowledgeStamp(version=self.version, digest=self.digest)

    def limit(self, id: str) -> float:
        """The value of a threshold; raises KeyError where there is none of this id."""
        return self.thresholds[id].value

    def quantity(self, id: str) -> Quantity:
        """A threshold with its unit, source and standing; raises KeyError where there is none of this id."""
        row = self.thresholds[id]
        return Quantity(row.id, row.value, row.unit, row.source, row.standing)

    def default_quantity(self, part: str, quantity: str) -> Quantity:
        """A figure assumed where none is given, with the id `part.quantity`; raises StopIteration where there is none."""
        row = self.default(part, quantity)
        return Quantity(f"{part}.{quantity}", row.value, row.unit, row.source, row.standing)

    @property
    def copper_strip_wanted(self) -> str:
        """The worst ASTM D130 rating that speaks for an oil beside copper alloys."""
        return [rating for rating, row in self.copper_strip.items() if row.reassuring][-1]

    def default(self, part: str, quantity: str) -> schema.DefaultRow:
        """The row of an assumed shape."""
        return next(row for row in self.defaults if (row.part, row.quantity) == (part, quantity))

    def copper_rank(self, rating: str) -> int:
        """Position of an ASTM D130 rating, 0 for the best."""
        return tuple(self.copper_strip).index(rating)
