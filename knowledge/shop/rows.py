"""The shape of a row in each table of a shop folder; a blank cell is not known."""

from collections.abc import Mapping
from typing import Annotated

from pydantic import AfterValidator, BeforeValidator, Field
from pydantic_core import PydanticCustomError

from knowledge.loading.custom_rows import split
from knowledge.loading.schema import Id, Rating, Row
from knowledge.loading.sheets import looks_like_a_date
from knowledge.parts.ranges import SERVICE_INTERVAL
from knowledge.parts.references import Refers
from knowledge.parts.request_model import (
    ANY_CASE,
    LONGEST_ID,
    OR_A_WORD,
    Condition,
    Cones,
    Density,
    DynamicViscosity,
    FinalDrive,
    Flag,
    Grade,
    Hours,
    Identifier,
    Number,
    Temperature,
    Viscosity,
    Words,
    optional,
)

ShopId = Annotated[Id, Field(max_length=LONGEST_ID), ANY_CASE]
Notes = Annotated[str, Field(max_length=500)]
Litres = Annotated[Number, Field(ge=0, le=10_000)]
NO_RINGS = "Of a box without synchronizer rings has_rings says no."
A_DATE = (
    "looks like a date that a spreadsheet made of gears such as 1-2; make the column one of text, then type them anew"
)


def _gears(cell: str) -> str:
    if looks_like_a_date(cell):
        raise PydanticCustomError("date", A_DATE)
    return cell


class BoxRow(Row):
    """One box the shop knows; its ring sets stand in a table of their own."""

    id: ShopId
    name: Words
    has_rings: Flag | None = optional(
        "No: a box without synchronizer rings. Yes: one that has a row in the table of rings."
    )
    box_kind: Annotated[Identifier | None, Refers("box_kinds")] = None
    yellow_metal: Flag | None = None
    final_drive: Annotated[FinalDrive | None, OR_A_WORD, Refers("final_drives")] = None
    limited_slip: Flag | None = None
    wet_clutch: Flag | None = None
    duty: Annotated[Identifier | None, Refers("duties")] = None
    capacity_l: Annotated[Number, Field(gt=0, le=1000)] | None = None
    service_family: Annotated[Identifier | None, Refers("families")] = None
    service_grade: Annotated[Grade | None, Refers("grades")] = None
    service_interval_km: Annotated[Number, SERVICE_INTERVAL] | None = None
    service_note: Words | None = None
    notes: Notes | None = None

    @property
    def is_without_rings(self) -> bool:
        """As of a question."""
        return self.has_rings is False and self.final_drive != "hypoid"


class RingSetRow(Row):
    """One set of synchronizer rings in a box."""

    keys = ()

    box: Annotated[Identifier, Refers("boxes")]
    gears: Annotated[Words, AfterValidator(_gears)] | None = None
    facing: Annotated[Identifier | None, Refers("facings", if_none=NO_RINGS)] = None
    body: Annotated[Identifier | None, Refers("bodies")] = None
    cones: Cones | None = None
    condition: Annotated[Condition | None, OR_A_WORD, Refers("conditions")] = None
    replaced: Flag | None = None
    fluid_family: Annotated[Identifier | None, Refers("families")] = optional("What the ring's maker names.")
    fluid_grade: Annotated[Grade | None, Refers("grades")] = None


class ShelfRow(Row):
    """One kind of jug that stands on the shelf."""

    id: ShopId
    name: Words
    family: Annotated[Identifier | None, Refers("families")] = None
    grade: Annotated[Grade | None, Refers("grades")] = None
    also: Annotated[tuple[Identifier, ...], BeforeValidator(split), Refers("families")] = Field(
        (), description="Families that the label claims beside, set apart by blanks."
    )
    kv40_mm2_s: Viscosity | None = None
    kv100_mm2_s: Viscosity | None = None
    kv100_sheared_mm2_s: Viscosity | None = None
    t150_c: Temperature | None = None
    brookfield_temperature_c: Temperature | None = None
    brookfield_mpa_s: DynamicViscosity | None = None
    copper_strip_rating: Annotated[Rating | None, ANY_CASE, Refers("copper_strip")] = None
    copper_strip_temperature_c: Temperature | None = None
    copper_strip_hours: Hours | None = None
    density15_kg_m3: Density | None = None
    limited_slip: Flag | None = None
    litres: Litres | None = None
    notes: Notes | None = None


TABLES: Mapping[str, type[Row]] = {"boxes.csv": BoxRow, "rings.csv": RingSetRow, "shelf.csv": ShelfRow}
