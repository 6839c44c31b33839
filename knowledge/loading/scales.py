"""The shape of a row in the tables of the standard scales: grades, viscosity index, copper strip."""

from typing import Annotated

from pydantic import Field, computed_field

from knowledge.loading.schema import CitedRow, ColdLimit, Finite, Id, Key, Kv100, Positive, Rating, compared

GradeId = Annotated[str, Field(pattern=r"^[0-9]+W?$")]


class J306Row(CitedRow):
    """One grade of SAE J306; a row with a cold limit is a W grade."""

    keys = (Key(("edition", "grade")),)

    edition: Id
    grade: GradeId
    cold_limit_c: ColdLimit | None = None
    kv100_min_mm2_s: Kv100
    kv100_max_mm2_s: Annotated[Kv100 | None, compared("above", "kv100_min_mm2_s")] = None


class J300Row(CitedRow):
    """One grade of SAE J300; a row with a pumping temperature is a W grade."""

    keys = (Key(("for_grades", "grade")),)

    grade: GradeId
    cranking_viscosity_max_mpa_s: Positive | None = None
    cranking_temperature_c: Finite | None = None
    pumping_viscosity_max_mpa_s: Positive | None = None
    pumping_temperature_c: ColdLimit | None = None
    kv100_min_mm2_s: Kv100
    kv100_max_mm2_s: Annotated[Kv100 | None, compared("above", "kv100_min_mm2_s")] = None
    high_shear_viscosity_min_mpa_s: Positive | None = None
    for_grades: str | None = None

    @property
    def cold_limit_c(self) -> float | None:
        """The temperature down to which a W grade must still pump."""
        return self.pumping_temperature_c


class IsoRow(CitedRow):
    """One grade of ISO 3448: a midpoint and its tolerance."""

    keys = (Key(("grade",)),)

    grade: GradeId
    midpoint_mm2_s: Positive
    tolerance_percent: Annotated[float, Field(gt=0, lt=100)]

    @computed_field  # type: ignore[prop-decorator]  # mypy knows no decorated properties; pydantic asks for this
    @property
    def kv40_min_mm2_s(self) -> float:
        """Lower edge, rounded past the digits the standard prints."""
        return round(self.midpoint_mm2_s * (1 - self.tolerance_percent / 100), 6)

    @computed_field  # type: ignore[prop-decorator]  # mypy knows no decorated properties; pydantic asks for this
    @property
    def kv40_max_mm2_s(self) -> float:
        """Upper edge, rounded past the digits the standard prints."""
        return round(self.midpoint_mm2_s * (1 + self.tolerance_percent / 100), 6)


class ReferenceOilRow(CitedRow):
    """Coefficients of ASTM D2270 for one stretch of KV100: L = l_a Y² + l_b Y + l_c, H likewise."""

    keys = (Key(("kv100_min_mm2_s",)),)

    kv100_min_mm2_s: Kv100
    kv100_max_mm2_s: Kv100 | None = None
    l_a: Finite
    l_b: Finite
    l_c: Finite
    h_a: Finite
    h_b: Finite
    h_c: Finite


class CopperStripRow(CitedRow):
    """One rating of ASTM D130, in order from best to worst."""

    keys = (Key(("rating",)),)

    rating: Rating
    designation: str
    appearance: str
    reassuring: bool = Field(description="Whether it is acceptable beside copper alloys.")
