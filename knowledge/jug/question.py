"""What may be asked about one jug."""

from typing import Annotated

from pydantic import Field

from knowledge.box.linked import FlatQuestion, linked_beside_box
from knowledge.box.question import FillQuestion
from knowledge.parts.jug import Jug
from knowledge.parts.references import Refers
from knowledge.parts.request_model import Identifier, optional


class JugQuestion(Jug):
    """Is this jug right? Any part of its label and data sheet, and the box where one is in question."""

    shelf_ref: Annotated[Identifier | None, Refers("shelf")] = optional(
        "An id of /v1/shop/shelf; that jug fills in whatever the question leaves out.", "jug-a"
    )
    question: FillQuestion | None = Field(None, description="The box to judge it for.")


@linked_beside_box(JugQuestion)
class FlatJugQuestion(FlatQuestion):
    """The jug question as the flat fields of a link; with a field of a box, its verdict for that box."""
