"""The shop's own boxes and shelf, and what a box fills in where a question leaves it out."""

import hashlib
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, TypeVar

from knowledge.box.question import FillQuestion, ServiceData
from knowledge.errors import Fault
from knowledge.parts.jug import ColdViscosity, CopperStrip, Jug, Label
from knowledge.parts.ring import FluidNamed, Ring
from knowledge.shop.models import Box, FromBox, ShelfJug, ShopFault, ShopState
from knowledge.shop.rows import BoxRow, RingSetRow, ShelfRow

AnyJug = TypeVar("AnyJug", bound=Jug)

MOST_FAULTS_TOLD = 20
VISCOSITIES = ("kv40_mm2_s", "kv100_mm2_s", "kv100_sheared_mm2_s")
BOX_FIELDS = ("rings", "box_kind", "yellow_metal", "final_drive", "limited_slip", "wet_clutch", "duty", "service_data")


@dataclass(frozen=True, slots=True)
class Shop:
    """What the shop knows and has; read whole, never changed."""

    boxes: Mapping[str, Box] = field(hash=False)
    shelf: Mapping[str, ShelfJug] = field(hash=False)
    digest: str
    region: str | None = None

    @classmethod
    def of(
        cls,
        boxes: Iterable[BoxRow] = (),
        rings: Iterable[RingSetRow] = (),
        shelf: Iterable[ShelfRow] = (),
        region: str | None = None,
    ) -> "Shop":
        """The shop made of checked rows; without any it is an empty one."""
        ring_rows = tuple(rings)
        made_boxes = {row.id: box_of(row, [ring for ring in ring_rows if ring.box == row.id]) for row in boxes}
        made_shelf = {row.id: shelf_jug(row) for row in shelf}
        digest = digest_of(made_boxes, made_shelf)
        return cls(MappingProxyType(made_boxes), MappingProxyType(made_shelf), digest, region)

    @property
    def ids(self) -> Mapping[str, Collection[str]]:
        """The ids of its tables."""
        return {"boxes": self.boxes, "shelf": self.shelf}

    def state(self, faults: tuple[Fault, ...] = ()) -> ShopState:
        """What this shop is, and the faults of a newer edit that cannot take its place."""
        return ShopState(
            status="last-good" if faults else "current",
            digest=self.digest,
            boxes=len(self.boxes),
            jugs=len(self.shelf),
            faults_found=len(faults),
            faults=tuple(ShopFault(**fault._asdict()) for fault in faults[:MOST_FAULTS_TOLD]),
        )

    def used_by(self, question: FillQuestion) -> Iterator[str]:
        """All that an answer to this question takes from the shop, item by item."""
        if self.region is not None:
            yield f"region {self.region}"
        if question.box_ref is not None:
            yield self.boxes[question.box_ref].model_dump_json()
        if question.use_shelf:
            yield from (jug.model_dump_json() for jug in self.shelf.values())


def digest_of(boxes: Mapping[str, Box], shelf: Mapping[str, ShelfJug]) -> str:
    sums = hashlib.sha256()
    for item in (*boxes.values(), *shelf.values()):
        sums.update(f"{type(item).__name__} {item.model_dump_json()}\n".encode())
    return f"sha256:{sums.hexdigest()}"


def box_of(row: BoxRow, ring_rows: Sequence[RingSetRow]) -> Box:
    """The box that a row and those of its ring sets describe."""
    rings = tuple(map(_ring, ring_rows))
    service = ServiceData(**{name: getattr(row, f"service_{name}") for name in ServiceData.model_fields})
    return Box(
        **row.model_dump(include=set(BoxRow.model_fields) & set(Box.model_fields)),
        rings=rings or (() if row.has_rings is False else None),
        service_data=service if service != ServiceData() else None,
    )


def _ring(row: RingSetRow) -> Ring:
    named = FluidNamed(family=row.fluid_family, grade=row.fluid_grade)
    given = row.model_dump(exclude={"box", "fluid_family", "fluid_grade"})
    return Ring(**given, fluid_named=named if named != FluidNamed() else None)


def shelf_jug(row: ShelfRow) -> ShelfJug:
    """The jug that a row describes.

    Errors: ValidationError, when the figures of the row cannot be those of one jug.
    """
    strip = None
    if row.copper_strip_rating:
        strip = CopperStrip(
            rating=row.copper_strip_rating,
            temperature_c=row.copper_strip_temperature_c,
            hours=row.copper_strip_hours,
        )
    cold: tuple[ColdViscosity, ...] = ()
    if row.brookfield_mpa_s is not None:
        cold = (ColdViscosity(temperature_c=row.brookfield_temperature_c, viscosity_mpa_s=row.brookfield_mpa_s),)
    same = row.model_dump(include=set(ShelfJug.model_fields))
    label = Label(family=row.family, grade=row.grade, also=row.also)
    return ShelfJug(**same, label=label if label != Label() else None, copper_strip=strip, brookfield=cold)


def filled_in(question: FillQuestion, shop: Shop) -> tuple[FillQuestion, FromBox | None]:
    """The question with what it leaves out taken from its box, and which parts those are.

    What the question states wins over the box.
    """
    if question.box_ref is None:
        return question, None
    box = shop.boxes[question.box_ref]
    filled = {"rings": _rings(question.rings, box.rings)}
    for name in BOX_FIELDS[1:]:
        stated = getattr(question, name)
        filled[name] = getattr(box, name) if stated is None else stated
    taken = [name for name in BOX_FIELDS if getattr(question, name) != filled[name]]
    note = FromBox(
        id=box.id,
        name=box.name,
        filled_in=tuple(f"/{name}" for name in taken),
        stated_otherwise=tuple(_overruled(box, filled, taken)),
        capacity_l=box.capacity_l,
        notes=box.notes,
    )
    return question.model_copy(update=filled), note


def from_shelf(question: AnyJug, id: str | None, shop: Shop) -> AnyJug:
    """A jug with what the question leaves out taken from one on the shelf; viscosities are all of one of them."""
    if id is None:
        return question
    states_viscosity = any(getattr(question, name) is not None for name in VISCOSITIES)
    left_out = (name for name in Jug.model_fields if getattr(question, name) in (None, ()))
    taken = (name for name in left_out if not (states_viscosity and name in VISCOSITIES))
    return question.model_copy(update={name: getattr(shop.shelf[id], name) for name in taken})


def _overruled(box: Box, filled: Mapping[str, Any], taken: Collection[str]) -> Iterator[str]:
    """Where the question contradicts the box: of rings that it only completes, the very parts."""
    if "rings" in taken:
        for index, (ring, of_box) in enumerate(zip(filled["rings"], box.rings or (), strict=True)):
            for part in Ring.model_fields:
                if getattr(of_box, part) not in (None, getattr(ring, part)):
                    yield f"/rings/{index}/{part}"
    for name in BOX_FIELDS:
        if name not in taken and getattr(box, name) not in (None, filled[name]):
            yield f"/{name}"


def _rings(stated: tuple[Ring, ...] | None, of_box: tuple[Ring, ...] | None) -> tuple[Ring, ...] | None:
    """The caller's rings, or the box's own where the caller leaves them out or only completes them.

    Sets stated without a facing complete the box's sets: each the one of the same gears, one
    without gears all of them.
    """
    if stated is None or not of_box:
        return of_box if stated is None else stated
    by_gears = {ring.gears: ring for ring in stated}
    places = {None, *(ring.gears for ring in of_box)}
    if not stated or len(by_gears) < len(stated) or not places.issuperset(by_gears) or any(r.facing for r in stated):
        return stated
    return tuple(_laid_over(ring, by_gears.get(ring.gears) or by_gears.get(None)) for ring in of_box)


def _laid_over(ring: Ring, stated: Ring | None) -> Ring:
    return ring.model_copy(update={name: value for name, value in stated or () if value is not None})


NO_SHOP = Shop.of()
