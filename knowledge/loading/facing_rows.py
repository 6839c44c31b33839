"""The shape of a row in the tables of the shift question."""

from collections.abc import Mapping
from typing import Annotated, Literal, get_args

from pydantic import Field

from knowledge.loading.schema import CitedRow, Compared, Finite, Id, Key, Positive, Row, UnitOf
from knowledge.parts.references import Refers
from knowledge.parts.request_model import optional

STEEL_CONE = "steel-cone"
LimitName = Literal[
    "sliding_speed_m_s", "specific_energy_j_mm2", "mean_power_w_mm2", "pressure_n_mm2", "interface_temperature_c"
]
LeverName = Literal["cones", "mean_radius_mm", "half_angle_deg", "shift_force_n", "shift_interval_s"]
LIMIT_NAMES: tuple[LimitName, ...] = get_args(LimitName)
LEVER_NAMES: tuple[LeverName, ...] = get_args(LeverName)


class FacingLimitRow(CitedRow):
    """What a facing stands by one source; of sources that disagree one row is chosen, and its note gives the reason."""

    keys = (Key(("facing", "quantity"), is_complete=True, of_chosen=True),)

    facing: Annotated[Id, Refers("facings")]
    quantity: LimitName
    value: Positive
    unit: Annotated[str, UnitOf("quantity")]
    chosen: bool = Field(description="Which of several disagreeing rows is used.")


class FacingThermalRow(CitedRow):
    """How a facing, or the steel cone against it, takes up heat."""

    keys = (Key(("material",), is_complete=True, of_chosen=True),)

    material: Annotated[Id, Refers("facings", also=(STEEL_CONE,))] = Field(
        description="An id of the facings, or `steel-cone`."
    )
    conductivity_w_m_k: Positive
    conductivity_min_w_m_k: Annotated[Positive | None, Compared("not above", "conductivity_w_m_k")] = None
    conductivity_max_w_m_k: Annotated[Positive | None, Compared("not below", "conductivity_w_m_k")] = None
    density_kg_m3: Positive | None = optional("Density of the material; null where the source does not give it.")
    specific_heat_j_kg_k: Positive
    chosen: bool = Field(description="Which of several disagreeing rows is used.")


class FrictionByFluidRow(CitedRow):
    """What a family of fluid leaves of the friction that a facing has with a fluid that suits it."""

    keys = (Key(("facing", "family"), is_complete=True),)

    facing: Annotated[Id, Refers("facings")]
    family: Annotated[Id, Refers("families")]
    dynamic_factor: Annotated[float, Field(gt=0, le=1)] = Field(
        description="Factor on sliding friction: at most 1, since the span of the facing holds the best fluid already."
    )
    static_factor: Annotated[float, Field(gt=0, le=1)] = Field(description="Factor on friction at rest.")
    reason: str


class ShiftBoundRow(CitedRow):
    """How far one thing may be changed when a least change is looked for."""

    keys = (Key(("lever", "facing")),)

    lever: LeverName
    facing: Annotated[Id | None, Refers("facings")] = optional("An id of /v1/facings; null: for every facing.")
    low: Finite
    high: Annotated[Finite, Compared("above", "low")]
    unit: str = Field(description="Unit of the bounds; those of the radius multiply what the ring has now.")


TABLES: Mapping[str, type[Row]] = {
    "facing_limits.csv": FacingLimitRow,
    "facing_thermal.csv": FacingThermalRow,
    "friction_by_fluid.csv": FrictionByFluidRow,
    "shift_bounds.csv": ShiftBoundRow,
}
