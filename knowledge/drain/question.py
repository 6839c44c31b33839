"""What may be asked about draining an old fluid out."""

from typing import Annotated

from pydantic import BeforeValidator, Field, ValidationInfo, field_validator
from pydantic_core import PydanticCustomError

from knowledge.box.linked import FlatQuestion, linked_beside_box
from knowledge.box.question import FillQuestion
from knowledge.parts.jug import Jug, Label
from knowledge.parts.references import Refers
from knowledge.parts.request_model import STRICT, Identifier, Number, RequestModel, optional, whole

Litres = Annotated[Number, Field(ge=0.01, le=1000)]


class DrainFluid(Jug):
    """A fluid, old or new: as much of its label and data sheet as the caller has."""

    family: Annotated[Identifier | None, Refers("families")] = optional(
        "An id of /v1/families; it overrules `label.family`.", "gl-4"
    )

    @property
    def jug(self) -> Jug:
        """The fluid as a jug."""
        label = self.label
        if self.family is not None:
            label = Label(family=self.family, grade=self.label.grade if self.label else None)
        return self.model_copy(update={"label": label})


class DrainQuestion(RequestModel):
    """What stays of an old fluid, or what a top-up does? Every field may be left out.

    With `top_up_l`, `new` is what is poured on top of `old`.
    """

    capacity_l: Litres | None = optional("What the box holds, dry; with a top-up the level after it.", 2.2)
    drained_l: Litres | None = optional("What one drain brings out and one refill puts in.", 1.8)
    top_up_l: Litres | None = optional("What is poured on top instead of a change.", 0.3)
    old: DrainFluid | None = optional("The fluid that is in it.")
    new: DrainFluid | None = optional("The fluid that goes in.")
    rounds: Annotated[int, STRICT, Field(ge=1, le=20), BeforeValidator(whole)] | None = optional(
        "Rounds to show; else as many as the target needs.", 2
    )
    target_old_share: Annotated[Number, Field(ge=0.001, le=0.9)] | None = optional(
        "Share of the old fluid that may stay; else by what the old fluid is.", 0.1
    )
    question: FillQuestion | None = optional("The box it is about.")

    @field_validator("drained_l", "top_up_l")
    @classmethod
    def _no_more_than_it_holds(cls, litres: float | None, info: ValidationInfo) -> float | None:
        capacity_l = info.data.get("capacity_l")
        if litres is not None and capacity_l is not None and litres > capacity_l:
            raise PydanticCustomError(
                "more_than_it_holds", "{field} must not be above capacity_l", {"field": info.field_name}
            )
        return litres


@linked_beside_box(DrainQuestion)
class FlatDrainQuestion(FlatQuestion):
    """The drain question as the flat fields of a link: `old_family`, `new_kv40_mm2_s` and so on, and the box."""
