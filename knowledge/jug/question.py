"""What may be asked about one jug."""

from pydantic import Field

from knowledge.box.question import FillQuestion
from knowledge.parts.jug import Jug


class JugQuestion(Jug):
    """Is this jug right? Any part of its label and data sheet, and the box where one is in question."""

    question: FillQuestion | None = Field(None, description="The box to judge it for.")
