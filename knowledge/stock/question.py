"""What to stock, as it travels over the wire."""

from typing import Annotated

from pydantic import BeforeValidator, Field

from knowledge.box.question import FillQuestion
from knowledge.parts.request_model import STRICT, AtMost, Flag, RequestModel, Words, optional, whole

MOST_BOXES = 500


class StockBox(RequestModel):
    """A box to stock for, and how often it comes in."""

    name: Annotated[Words, Field(min_length=1, description="What the plan calls it.", examples=["the delivery vans"])]
    asked: Annotated[int, STRICT, Field(ge=1, le=10_000), BeforeValidator(whole)] = Field(
        1, description="How often it comes in, beside the other boxes; left out, once.", examples=[12]
    )
    question: FillQuestion = Field(FillQuestion(), description="The box, as of /v1/fill.")


class StockQuestion(RequestModel):
    """Which classes of jug serve these boxes, the fewest of them? `{}` asks it of all the shop's own boxes."""

    boxes: Annotated[tuple[StockBox, ...], AtMost(MOST_BOXES)] = Field((), description="The boxes to stock for.")
    use_shop: Flag | None = optional(
        "Stock for every box of /v1/shop/boxes, each once, too; left out, only where `boxes` is.", True
    )
    allow_care: Flag = Field(
        True, description="A class that fits with care serves a box; left out, it does.", examples=[True]
    )
    allow_second: Flag = Field(
        True,
        description="A class that stands behind the first choice serves a box; left out, it does.",
        examples=[True],
    )
