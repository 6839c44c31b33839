"""The shop's own boxes and jugs as they travel over the wire."""

from typing import Annotated, Literal

from pydantic import Field

from knowledge.box.question import ServiceData
from knowledge.parts.jug import Jug
from knowledge.parts.provenance import KnowledgeStamp, ResponseModel
from knowledge.parts.request_model import FinalDrive, Identifier
from knowledge.parts.ring import Ring


class FromBox(ResponseModel):
    """The box of the shop that filled in the question."""

    id: str
    name: str
    filled_in: tuple[str, ...] = Field(description="JSON pointers to what was taken from the box.")
    stated_otherwise: tuple[str, ...] = Field(
        description="JSON pointers to what the caller stated and the box has not so."
    )
    capacity_l: float | None = None
    notes: str | None = None


READ_ONLY = Field(json_schema_extra={"readOnly": True})


class Box(ResponseModel):
    """A box the shop knows; null is not known, and `rings: []` means that it has none."""

    id: Annotated[Identifier, READ_ONLY]
    name: Annotated[str, READ_ONLY]
    box_kind: str | None = None
    rings: tuple[Ring, ...] | None = None
    yellow_metal: bool | None = None
    final_drive: FinalDrive | None = None
    limited_slip: bool | None = None
    wet_clutch: bool | None = None
    duty: str | None = None
    service_data: ServiceData | None = None
    capacity_l: Annotated[float | None, READ_ONLY] = None
    notes: Annotated[str | None, READ_ONLY] = None


class ShelfJug(Jug):
    """A kind of jug on the shelf, with its data sheet; null is not known."""

    id: Identifier
    litres: float | None = Field(None, description="How much of it there is.")
    notes: str | None = None


class ShopFault(ResponseModel):
    """One fault in a table of the shop, with its place; line and column count from 1, a column is a cell."""

    file: str
    line: int
    column: int
    message: str


class ShopState(ResponseModel):
    """Which state of the shop's tables is used, and what is wrong with a newer one that cannot be used."""

    status: Annotated[
        Literal["current", "last-good"],
        Field(description="last-good: the tables were edited and cannot be used; the state before is kept."),
    ] = "current"
    digest: str
    boxes: int
    jugs: int
    faults_found: int = 0
    faults: tuple[ShopFault, ...] = Field((), description="The first faults of the edit that cannot be used.")


class ShopBoxes(ResponseModel):
    """Every box of the shop."""

    knowledge: KnowledgeStamp
    shop: ShopState
    boxes: tuple[Box, ...]


class ShopShelf(ResponseModel):
    """Every kind of jug on the shelf."""

    knowledge: KnowledgeStamp
    shop: ShopState
    shelf: tuple[ShelfJug, ...]


class BoxEntry(ResponseModel):
    """One box of the shop."""

    knowledge: KnowledgeStamp
    shop: ShopState
    entry: Box


class ShelfEntry(ResponseModel):
    """One kind of jug on the shelf."""

    knowledge: KnowledgeStamp
    shop: ShopState
    entry: ShelfJug
