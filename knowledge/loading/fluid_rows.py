"""The shape of a row in the tables of fluids: families, classes, where they are sold, and the words for them."""

from collections.abc import Mapping
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from knowledge.loading.schema import CitedRow, ColdLimit, DrawnRow, Id, Key, Kv100, Positive, Rating, Row, compared
from knowledge.parts.provenance import Citation, Standing
from knowledge.parts.references import Refers
from knowledge.parts.request_model import optional

SaeScale = Literal["sae-j306", "sae-j300"]
Sold = Literal["everyday", "to-order", "rare"]
ViscosityIndex = Annotated[float, Field(ge=0, le=400)]


class FamilyRow(Row):
    """A family of fluid: what its label promises, whatever the viscosity."""

    id: Id
    name: str
    label: str = Field(description="As short as it is called at the counter.")
    protection: Literal["none", "light", "moderate", "full"] = Field(
        description="Gear protection of the additives: none, light antiwear, moderate or full extreme pressure."
    )
    protects_hypoid: bool = Field(False, description="Made for hypoid teeth, as GL-5 is.")
    limited_slip: bool = False
    suits_wet_clutch: bool = Field(False, description="Whether it is of the kind that wet clutches run in.")
    dual_label: bool = False
    polymer_thickened: bool = False
    is_gear_oil: bool
    scales: tuple[SaeScale, ...] = Field(description="Of what its grades can be; none: it has no SAE grade.")
    works_as: Annotated[Id | None, Refers("families")] = optional(
        "The family whose oil of the same grade does the same work in a box with rings."
    )
    copper_strip_limit: Annotated[Rating | None, Refers("copper_strip")] = optional(
        "Worst ASTM D130 rating the category itself allows."
    )
    copper_strip_temperature_c: Annotated[float, Field(ge=20, le=200)] | None = None
    meaning: str
    standing: Standing
    sources: tuple[Citation, ...]


class LubricantRow(DrawnRow):
    """A lubricant class: a family at a grade, a band and never one oil; the spread is that of `long_sump_c`."""

    drawn: ClassVar[Mapping[str, str]] = {
        "long_sump_c": "spread",
        "viscosity_index_min": "viscosity_index_spread",
        "viscosity_index_max": "viscosity_index_spread",
        "cold_limit_c": "cold_limit_spread",
    }
    keys = (Key(("id",)), Key(("family", "scale", "grade", "kv100_min_mm2_s", "kv100_max_mm2_s")))

    id: Id
    name: Annotated[str, Field(max_length=50)]
    family: Annotated[Id, Refers("families")]
    scale: SaeScale | Literal["none"]
    grade: str
    kv100_min_mm2_s: Kv100 | None = optional("Lowest KV100; null where the grade fixes it.")
    kv100_max_mm2_s: Kv100 | None = optional("Highest KV100; null where the grade fixes it.")
    viscosity_index_min: ViscosityIndex
    viscosity_index_max: Annotated[ViscosityIndex, compared("above", "viscosity_index_min")]
    density15_kg_m3: Annotated[float, Field(ge=801, le=1164)]
    cold_limit_c: ColdLimit | None = optional("Down to where it is made to flow; null where the W grade fixes it.")
    sold: Sold = Field(description="How commonly it is sold, where no region is known.")
    long_sump_c: Annotated[float, Field(ge=20, le=200)] = Field(description="Oil temperature that it stands for long.")
    peak_sump_c: Annotated[float, Field(le=200), compared("above", "long_sump_c")] = Field(
        description="Oil temperature that it stands for a while."
    )
    tolerated_to_c: Annotated[float, Field(ge=-60, le=10)] = Field(
        description="Coldest start that the trade puts up with; in a colder one another grade is told."
    )
    viscosity_index_spread: Positive | None = optional(
        "How far off each edge of the viscosity index may be; null: it is not drawn."
    )
    cold_limit_spread: Positive | None = optional(
        "How far off a cold limit that no grade fixes may be, °C; null: it is not drawn."
    )


class RegionRow(CitedRow):
    """Where a class is sold more or less commonly than elsewhere."""

    keys: ClassVar[tuple[Key, ...]] = (Key(("region", "lubricant")),)

    region: Id
    lubricant: Annotated[Id, Refers("lubricants")]
    sold: Sold


class AliasRow(CitedRow):
    """A word that callers use for ids of a table, or of the words that a field may hold; several ids: ask which."""

    keys = (Key(("kind", "word")),)

    kind: Literal["facings", "families", "duties", "final_drives", "conditions", "grades"]
    word: Annotated[str, Field(max_length=60)]
    ids: str = Field(description="The ids it may mean, set apart by blanks.")
    how: Literal["is", "ask", "both"] = Field(description="Both: a label that claims the first and the second at once.")


class BareGradeRow(CitedRow):
    """What a grade that stands in a book without its family means today."""

    keys = (Key(("printed", "box", "built_from", "colder_than_c")),)

    printed: str = Field(description="The grade, or the family of fluid, as it is read.")
    box: Literal["any", "rings", "lined", "no-rings", "hypoid"]
    built_from: Annotated[int, Field(ge=1900, le=2100)] | None = optional(
        "Only in boxes of a kind that was built from this year on."
    )
    colder_than_c: Annotated[float, Field(ge=-60, le=10)] | None = optional(
        "Only for colder starts; the coldest row that holds is used."
    )
    first: Annotated[Id | None, Refers("lubricants")] = optional(
        "The first choice, an id of /v1/lubricants; blank: as printed."
    )
    second: Annotated[Id | None, Refers("lubricants")] = None
    words: Annotated[str, Field(max_length=140)]
