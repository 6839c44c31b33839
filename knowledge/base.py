"""The knowledge base: every table, indexed and frozen."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any, NamedTuple

from knowledge.loading import custom_rows, facing_rows, fluid_rows, scales, schema
from knowledge.loading.cells import AnyRow, Tables, row_id
from knowledge.loading.edition import Change
from knowledge.lubricant import Lubricant, oil_of_class
from knowledge.parts.provenance import KnowledgeStamp, LimitUsed, Standing
from knowledge.text import squeezed

DEFAULT_J306_EDITION = "2019"


class TriedValue(NamedTuple):
    """A value that is tried for a field the caller does not know, and how a person replies with it."""

    field: str
    value: str
    words: str
    standing: Standing


def _tried(tables: Tables) -> Iterator[TriedValue]:
    """The values of the table, then every facing, body and duty: what is known in the trade may be in the box."""
    for row in tables.rows(schema.PlausibleValueRow):
        yield TriedValue(row.field, row.value, row.words, row.standing)
    for facing in tables.rows(facing_rows.FacingRow):
        yield TriedValue("rings", facing.id, facing.ring_words, facing.standing)
        yield TriedValue("facing", facing.id, facing.words, facing.standing)
    for body in tables.rows(facing_rows.BodyRow):
        yield TriedValue("body", body.id, body.words, body.standing)
    for duty in tables.rows(schema.DutyRow):
        yield TriedValue("duty", duty.id, duty.reply, duty.standing)
    for kind in tables.rows(custom_rows.BoxKindRow):
        yield TriedValue("box_kind", kind.id, kind.words, kind.standing)


def oil_of_row(row: fluid_rows.LubricantRow, tables: Tables) -> Lubricant:
    """The oil of a class, with its family and its grade looked up in checked tables; raises OutOfRange."""
    grade_rows: Mapping[str, tuple[scales.J306Row, ...] | tuple[scales.J300Row, ...]] = {
        "sae-j306": tuple(grade for grade in tables.rows(scales.J306Row) if grade.edition == DEFAULT_J306_EDITION),
        "sae-j300": tables.rows(scales.J300Row),
        "none": (),
    }
    return oil_of_class(
        row,
        family=next(family for family in tables.rows(fluid_rows.FamilyRow) if family.id == row.family),
        grade_rows=grade_rows[row.scale],
        reference_oils=tables.rows(scales.ReferenceOilRow),
        flow_limit_mpa_s=next(
            (item.value for item in tables.rows(schema.ThresholdRow) if item.id == "flow-limit-mpa-s"), None
        ),
    )


@dataclass(frozen=True, slots=True, repr=False, eq=False)
class KnowledgeBase:
    """Everything the rules may know; read once, never changed."""

    version: str
    digest: str
    sources: Mapping[str, schema.SourceRow]
    families: Mapping[str, fluid_rows.FamilyRow]
    facings: Mapping[str, facing_rows.FacingRow]
    bodies: Mapping[str, facing_rows.BodyRow]
    lubricant_rows: Mapping[str, fluid_rows.LubricantRow]
    lubricants: tuple[Lubricant, ...]
    sae_j306: tuple[scales.J306Row, ...]
    sae_j300: tuple[scales.J300Row, ...]
    iso_3448: tuple[scales.IsoRow, ...]
    astm_d2270: tuple[scales.ReferenceOilRow, ...]
    copper_strip: Mapping[str, scales.CopperStripRow]
    facing_families: Mapping[tuple[str, str], facing_rows.FacingFamilyRow]
    fitness: Mapping[tuple[str, str], int]
    ring_lands: Mapping[tuple[str, str], facing_rows.RingLandRow]
    friction: tuple[facing_rows.FrictionRow, ...]
    defaults: Mapping[tuple[str, str], schema.DefaultRow]
    thresholds: Mapping[str, schema.ThresholdRow]
    duties: Mapping[str, schema.DutyRow]
    unknowns: Mapping[str, schema.UnknownRow]
    plausible_values: tuple[TriedValue, ...]
    outcomes: tuple[schema.OutcomeRow, ...]
    value_words: Mapping[tuple[str, str], str]
    meanings: Mapping[tuple[str, str], fluid_rows.AliasRow]
    sold_by_region: Mapping[tuple[str, str], fluid_rows.Sold]
    cautions: Mapping[str, schema.CautionRow]
    words: Mapping[str, schema.WordRow]
    facing_limits: tuple[facing_rows.FacingLimitRow, ...]
    facing_thermal: tuple[facing_rows.FacingThermalRow, ...]
    friction_by_fluid: Mapping[tuple[str, str], facing_rows.FrictionByFluidRow]
    shift_bounds: tuple[facing_rows.ShiftBoundRow, ...]
    changes: tuple[Change, ...]
    tables: Mapping[str, tuple[schema.Row, ...]]
    _ids: Mapping[str, tuple[str, ...]]
    _rows: Mapping[type[schema.Row], tuple[Any, ...]]
    _by_id: Mapping[type[schema.Row], Mapping[str, Any]]

    @classmethod
    def of(cls, tables: Tables, *, version: str, digest: str, changes: tuple[Change, ...] = ()) -> "KnowledgeBase":
        """The base made of checked tables."""
        lubricants = {row.id: oil_of_row(row, tables) for row in tables.rows(fluid_rows.LubricantRow)}
        fit_pairs = {(row.facing, row.family): row for row in tables.rows(facing_rows.FacingFamilyRow)}
        tried = tuple(_tried(tables))
        return cls(
            version=version,
            digest=digest,
            sources=_by_id(tables, schema.SourceRow),
            families=_by_id(tables, fluid_rows.FamilyRow),
            facings=_by_id(tables, facing_rows.FacingRow),
            bodies=_by_id(tables, facing_rows.BodyRow),
            lubricant_rows=_by_id(tables, fluid_rows.LubricantRow),
            lubricants=tuple(lubricants.values()),
            sae_j306=tables.rows(scales.J306Row),
            sae_j300=tables.rows(scales.J300Row),
            iso_3448=tables.rows(scales.IsoRow),
            astm_d2270=tables.rows(scales.ReferenceOilRow),
            copper_strip=_by_id(tables, scales.CopperStripRow),
            facing_families=MappingProxyType(fit_pairs),
            fitness=MappingProxyType(
                {pair: facing_rows.FITNESS_FROM_BEST.index(row.fitness) for pair, row in fit_pairs.items()}
            ),
            ring_lands=MappingProxyType(
                {(row.facing, row.condition): row for row in tables.rows(facing_rows.RingLandRow)}
            ),
            friction=tables.rows(facing_rows.FrictionRow),
            defaults=MappingProxyType({(row.part, row.quantity): row for row in tables.rows(schema.DefaultRow)}),
            thresholds=_by_id(tables, schema.ThresholdRow),
            duties=_by_id(tables, schema.DutyRow),
            unknowns=_by_id(tables, schema.UnknownRow),
            plausible_values=tried,
            outcomes=tables.rows(schema.OutcomeRow),
            value_words=MappingProxyType({(item.field, item.value): item.words for item in tried}),
            meanings=MappingProxyType(
                {(row.kind, squeezed(row.word)): row for row in tables.rows(fluid_rows.AliasRow)}
            ),
            sold_by_region=MappingProxyType(
                {(row.region, row.lubricant): row.sold for row in tables.rows(fluid_rows.RegionRow)}
            ),
            cautions=_by_id(tables, schema.CautionRow),
            words=_by_id(tables, schema.WordRow),
            facing_limits=tables.rows(facing_rows.FacingLimitRow),
            facing_thermal=tables.rows(facing_rows.FacingThermalRow),
            friction_by_fluid=MappingProxyType(
                {(row.facing, row.family): row for row in tables.rows(facing_rows.FrictionByFluidRow)}
            ),
            shift_bounds=tables.rows(facing_rows.ShiftBoundRow),
            changes=changes,
            tables=MappingProxyType({name: tables.rows(model) for name, model in tables.by_name.items()}),
            _ids=MappingProxyType({name: tables.ids(name) for name in tables.by_name}),
            _rows=MappingProxyType({model: tables.rows(model) for model in tables.by_name.values()}),
            _by_id=MappingProxyType({model: _by_id(tables, model) for model in tables.by_name.values() if model.keys}),
        )

    def with_rows(self, others: Mapping[int, schema.Row]) -> "KnowledgeBase":
        """The same knowledge with other rows in place of some, named by `id()`; the classes stay as they were.

        Of thresholds, defaults, duties, ring lands, and rows that are asked for by their models.
        """

        def swapped(held: Any) -> Any:
            if isinstance(held, tuple):
                return tuple(others.get(id(row), row) for row in held)
            return {key: others.get(id(row), row) for key, row in held.items()}

        models = {type(row) for row in others.values()}
        held = {model: name for model, name in _HELD_BY_NAME.items() if model in models}
        return replace(
            self,
            _rows={**self._rows, **{model: swapped(self._rows[model]) for model in models}},
            _by_id={**self._by_id, **{model: swapped(self._by_id[model]) for model in models if model in self._by_id}},
            **{name: swapped(getattr(self, name)) for name in held.values()},
        )

    def rows(self, model: type[AnyRow]) -> tuple[AnyRow, ...]:
        """The rows of the table of a row model."""
        return self._rows[model]

    def by_id(self, model: type[AnyRow]) -> Mapping[str, AnyRow]:
        """The same rows by their ids."""
        return self._by_id[model]

    def ids(self, table: str) -> tuple[str, ...]:
        """The ids of a table by its name."""
        return self._ids[table]

    @property
    def regions(self) -> tuple[str, ...]:
        """The regions whose counters sell some class more or less commonly than others do."""
        return tuple(dict.fromkeys(region for region, _ in self.sold_by_region))

    def __repr__(self) -> str:
        return f"KnowledgeBase({self.version}, {self.digest})"

    @property
    def stamp(self) -> KnowledgeStamp:
        """Version and digest, as every answer carries them."""
        return KnowledgeStamp(version=self.version, digest=self.digest)

    def limit(self, id: str) -> float:
        """The value of a threshold; raises KeyError where there is none of this id."""
        return self.thresholds[id].value

    def quantity(self, id: str) -> LimitUsed:
        """A threshold as a finding carries it; raises KeyError where there is none of this id."""
        row = self.thresholds[id]
        return LimitUsed(id=row.id, value=row.value, unit=row.unit, standing=row.standing)

    @property
    def copper_strip_wanted(self) -> str:
        """The worst ASTM D130 rating that is acceptable beside copper alloys."""
        return [rating for rating, row in self.copper_strip.items() if row.reassuring][-1]

    def default(self, part: str, quantity: str) -> schema.DefaultRow:
        """The row of an assumed shape."""
        return self.defaults[part, quantity]

    def sold(self, lubricant_id: str, region: str | None = None) -> fluid_rows.Sold:
        """How commonly a class is sold, in a region where that differs."""
        return self.sold_by_region.get((region or "", lubricant_id)) or self.lubricant_rows[lubricant_id].sold

    def copper_rank(self, rating: str) -> int:
        """Position of an ASTM D130 rating, 0 for the best."""
        return tuple(self.copper_strip).index(rating)


# Rows that are held by themselves too.
_HELD_BY_NAME: Mapping[type[schema.Row], str] = {
    schema.ThresholdRow: "thresholds",
    schema.DefaultRow: "defaults",
    schema.DutyRow: "duties",
    facing_rows.RingLandRow: "ring_lands",
}


def _by_id(tables: Tables, model: type[AnyRow]) -> Mapping[str, AnyRow]:
    return MappingProxyType({row_id(row): row for row in tables.rows(model)})
