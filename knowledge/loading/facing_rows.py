"""The shape of a row in the tables of facings: how a fluid serves each, and what it stands in a shift."""

from collections.abc import Mapping
from typing import Annotated, ClassVar, Literal, get_args

from pydantic import Field

from knowledge.loading.schema import CitedRow, DrawnRow, Finite, Id, Key, Positive, Row, UnitOfQuantity, compared
from knowledge.parts.provenance import Citation, Standing
from knowledge.parts.ranges import FRICTION, HALF_ANGLE
from knowledge.parts.references import Refers
from knowledge.parts.request_model import Condition, Plain, optional

STEEL_CONE = "steel-cone"
LimitName = Literal[
    "sliding_speed_m_s", "specific_energy_j_mm2", "mean_power_w_mm2", "pressure_n_mm2", "interface_temperature_c"
]
LeverName = Literal["cones", "mean_radius_mm", "half_angle_deg", "shift_force_n", "shift_interval_s"]
FacingKind = Literal["solid-or-sprayed", "sintered", "lined"]
LEVER_NAMES: tuple[LeverName, ...] = get_args(LeverName)
FITNESS_FROM_BEST = ("first", "second", "light-duty", "named", "refused")
# What stands for the facing of a box without synchronizer rings.
NO_RINGS = "none"


class FacingRow(Row):
    """A friction material at the cone."""

    id: Id
    name: str
    words: Annotated[str, Field(max_length=16)] = Field(description="The material, in a summary.")
    ring_words: str = Field(description="A set of such rings, in a reply.")
    delicacy: int = Field(
        ge=1, le=9, description="Rank from 1 to 9: of the rings of a box the one with the highest decides."
    )
    kind: FacingKind = Field(description="How it has to be served by a fluid.")
    copper_alloy: bool
    body: Annotated[str | None, Refers("bodies")] = optional(
        "An id of /v1/bodies where the ring is made of its facing; else null."
    )
    usual_lubricant: Annotated[Id, Refers("lubricants")] = Field(
        description="The class whose middle a cold shift is compared with."
    )
    reached_for: int = Field(ge=1, description="Its turn where several stand a shift: 1 is fitted first.")
    cone_finish: str = Field(description="What the cone against it has to be.")
    looks_like: str
    standing: Standing
    sources: tuple[Citation, ...]


class BodyRow(Row):
    """What a ring is made of beneath its facing."""

    id: Id
    name: str
    words: str = Field(description="The material, in a reply.")
    copper_alloy: bool
    looks_like: str
    standing: Standing
    sources: tuple[Citation, ...]


class FacingFamilyRow(CitedRow):
    """How well a family of fluid serves a facing (`none`: a box without synchronizer rings)."""

    keys = (Key(("facing", "family"), is_complete=True),)

    facing: Annotated[Id, Refers("facings", also=(NO_RINGS,))]
    family: Annotated[Id, Refers("families")]
    fitness: Literal["first", "second", "light-duty", "named", "refused"]
    reason: str


class RingLandRow(DrawnRow):
    """The lands of a facing: what has to squeeze the oil out before it grips."""

    drawn: ClassVar[Mapping[str, str]] = {
        "land_width_mm": "spread",
        "groove_depth_mm": "spread",
        "film_end_um": "spread",
        "permeability_m2": "permeability_spread",
    }
    keys = (Key(("facing", "condition"), is_complete=True),)

    facing: Annotated[Id, Refers("facings")]
    condition: Condition
    land_width_mm: Positive
    land_share: Annotated[float, Field(gt=0, lt=1)]
    groove_depth_mm: Positive
    groove_shape: Literal["triangle", "rectangle"]
    groove_runs: Literal["around", "along"] = Field(description="Around the cone, as a thread, or along it.")
    permeability_m2: Positive | None = optional("Permeability of a porous lining; null where the face is tight.")
    permeability_spread: Positive | None = optional(
        "Times or divided by what the permeability is known to; null: it is not drawn."
    )
    lining_mm: Positive | None = None
    film_start_um: Positive
    film_end_um: Annotated[Positive, compared("below", "film_start_um")]
    half_angle_deg: Annotated[Plain, HALF_ANGLE]


class FrictionRow(CitedRow):
    """Coefficient of friction of a facing on a steel cone in oil."""

    keys = (Key(("facing",), is_complete=True, of_chosen=True),)

    facing: Annotated[Id, Refers("facings")]
    dynamic_min: Annotated[Plain, FRICTION]
    dynamic_max: Annotated[Plain, FRICTION, compared("not below", "dynamic_min")]
    static_to_dynamic_typical: Annotated[float, Field(ge=1, le=2)] | None = None
    static_to_dynamic_max: Annotated[float | None, compared("not below", "static_to_dynamic_typical")] = Field(
        None, ge=1, le=2
    )
    chosen: bool = Field(description="Which of several disagreeing rows is used.")


class FacingLimitRow(CitedRow):
    """What a facing stands by one source; of sources that disagree one row is chosen, and its note gives the reason."""

    keys = (Key(("facing", "quantity"), is_complete=True, of_chosen=True),)

    facing: Annotated[Id, Refers("facings")]
    quantity: LimitName
    value: Positive
    unit: UnitOfQuantity
    chosen: bool = Field(description="Which of several disagreeing rows is used.")


class FacingThermalRow(CitedRow):
    """How a facing, or the steel cone against it, takes up heat."""

    keys = (Key(("material",), is_complete=True, of_chosen=True),)

    material: Annotated[Id, Refers("facings", also=(STEEL_CONE,))] = Field(
        description="An id of the facings, or `steel-cone`."
    )
    conductivity_w_m_k: Positive
    conductivity_min_w_m_k: Annotated[Positive | None, compared("not above", "conductivity_w_m_k")] = None
    conductivity_max_w_m_k: Annotated[Positive | None, compared("not below", "conductivity_w_m_k")] = None
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
    high: Annotated[Finite, compared("above", "low")]
    unit: str = Field(description="Unit of the bounds; those of the radius multiply what the ring has now.")
