"""The leading classes as curves over temperature, as they travel over the wire."""

from pydantic import Field

from knowledge.parts.lubricant_name import LubricantName
from knowledge.parts.provenance import Figure, KnowledgeStamp, ResponseModel


class BandPoint(ResponseModel):
    """The thin and the thick edge of a band at one temperature; null where it is beyond what can be computed."""

    temperature_c: float
    thin_mm2_s: float | None
    thick_mm2_s: float | None
    screening: bool = Field(description="Extrapolated below 0 °C: an indication, not a data-sheet value.")


class Band(ResponseModel):
    """One band of viscosity and the classes that share it."""

    lubricants: tuple[LubricantName, ...]
    label: str = Field(description="The classes in as few words as a drawing has room for.")
    cold_limit_c: float | None = Field(description="Down to where it is made to flow.")
    shifts_freely_above_c: Figure | None
    points: tuple[BandPoint, ...]


class FillCurves(ResponseModel):
    """Viscosity over temperature of the leading classes, and the window of the box; empty while nothing leads."""

    knowledge: KnowledgeStamp
    answer_id: str
    coldest_start_c: float
    sump_hot_c: float
    least_hot_mm2_s: Figure = Field(description="What the bearing needs at the hottest oil.")
    most_for_free_shifts_mm2_s: Figure | None = Field(
        description="Up to where first shifts come freely at the coldest start; null where no ring wipes oil away."
    )
    bands: tuple[Band, ...]
