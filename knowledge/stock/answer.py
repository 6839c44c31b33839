"""What to stock: plans, which jug serves which box, and the shelf beside them."""

from pydantic import Field

from knowledge.parts.lubricant_name import Verdict
from knowledge.parts.provenance import KnowledgeStamp, ResponseModel


class Plan(ResponseModel):
    """Jugs to keep, and what they serve."""

    jugs: tuple[str, ...] = Field(description="Ids of /v1/lubricants.")
    covers: int = Field(description="How many boxes it serves.")
    of: int = Field(description="How many boxes there are, but for `book_only`.")
    uncovered: tuple[str, ...] = Field(description="Names of the boxes that it leaves without a jug.")
    uncovered_asked: int = Field(description="How often the boxes that it leaves without a jug come in, together.")
    second_choice: tuple[str, ...] = Field(
        description="Names of the boxes that it serves with another class than their first choice."
    )


class StockedBox(ResponseModel):
    """A box and the jug of the first plan that serves it."""

    name: str
    asked: int = Field(description="How often it comes in.")
    jug: str | None = Field(description="An id of /v1/lubricants; null where the plan has no jug for it.")
    verdict: Verdict | None = Field(description="Whether that jug fits; null without one.")
    serve: dict[str, Verdict] = Field(
        description="What every jug of the plans that may serve it comes to, by id of /v1/lubricants."
    )


class Shelf(ResponseModel):
    """The shelf beside the first plan."""

    lacks: tuple[str, ...] = Field(description="Classes of the plan that no jug on the shelf is.")
    idle: tuple[str, ...] = Field(description="Jugs that fit none of these boxes: ids of /v1/shop/shelf.")


class StockAnswer(ResponseModel):
    """The fewest classes of jug that serve these boxes, exactly, and what one fewer or one more would come to."""

    knowledge: KnowledgeStamp
    plans: tuple[Plan, ...] = Field(
        description="The fewest jugs that serve every box that any jug may serve, then one fewer, then one more. Of "
        "plans with as many jugs the one that leaves least uncovered, as often as it is asked; then the most first "
        "choices, the least care, the most that stands on the shelf."
    )
    boxes: tuple[StockedBox, ...] = Field(description="Every box but those of `book_only`.")
    book_only: tuple[str, ...] = Field(
        description="Names of the boxes for which no class is sure to fit: their book decides, or what is asked."
    )
    shelf: Shelf
