"""One set of synchronizer rings, and the shape of its cone."""

from typing import Annotated

from pydantic import field_validator

from knowledge.parts.ranges import DETENT_FORCE, FACE_WIDTH, HALF_ANGLE, RADIUS
from knowledge.parts.references import Refers
from knowledge.parts.request_model import (
    OR_A_WORD,
    Condition,
    Cones,
    Flag,
    Grade,
    Identifier,
    Number,
    RequestModel,
    Words,
    optional,
    whole,
)

NO_RINGS = 'A box without synchronizer rings is "rings": [], and facing=none in a link.'


class FluidNamed(RequestModel):
    """A fluid that somebody names, by family, grade or both."""

    family: Annotated[Identifier | None, Refers("families")] = optional("An id of /v1/families.", "mtf")
    grade: Annotated[Grade | None, Refers("grades")] = optional("Viscosity grade as printed.", "75W-80")


class Ring(RequestModel):
    """One set of synchronizer rings."""

    gears: Words | None = optional("Which gears the set serves, in the caller's words.", "1-2")
    facing: Annotated[Identifier | None, Refers("facings", if_none=NO_RINGS)] = optional(
        "Friction material at the cone; an id of /v1/facings.", "paper"
    )
    body: Annotated[Identifier | None, Refers("bodies")] = optional(
        "What the ring itself is made of; an id of /v1/bodies.", "steel"
    )
    cones: Cones | None = optional("Friction interfaces in series.", 1)
    condition: Annotated[Condition | None, OR_A_WORD, Refers("conditions")] = optional(
        "Worn: the crests of the thread are flat, or the lining is thin.", "new"
    )
    replaced: Flag | None = optional(
        "Whether these are other rings than the service data speaks of; false: the very ones.", True
    )
    fluid_named: FluidNamed | None = optional("What the maker of the ring names; it stands above the service data.")

    _whole_cones = field_validator("cones", mode="before")(whole)


class RingGeometry(RequestModel):
    """The cone that wipes its film away before it grips; fields left out are assumed."""

    mean_radius_mm: Annotated[Number, RADIUS] | None = optional("Mean radius of the cone.")
    face_width_mm: Annotated[Number, FACE_WIDTH] | None = optional("Width of the face along the cone surface.")
    half_angle_deg: Annotated[Number, HALF_ANGLE] | None = optional(
        "Half angle of the cone, between its surface and its axis."
    )
    detent_force_n: Annotated[Number, DETENT_FORCE] | None = optional(
        "Force with which the ring is pushed on while its oil film is wiped away."
    )
