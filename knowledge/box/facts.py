"""What a rule may read of the box: each fact, and the fields of the question it depends on.

A rule names the facts it reads as its parameters; nothing else of the question reaches it.
"""

from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Any, NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.box.axes import NO_RINGS, RING_PARTS
from knowledge.box.duty_shift import RingReserve, ShiftHeat, ring_reserve, shift_heat
from knowledge.box.mating import ColdWiping, Land, MeshContact, WipingLand, mesh_contact, slowest_land
from knowledge.box.question import Bearing, FillQuestion, Mesh
from knowledge.parts.provenance import Standing, weakest
from knowledge.parts.ring import Ring, RingGeometry


class Fact(NamedTuple):
    """The axes a fact depends on and how it follows from their values."""

    reads: tuple[str, ...]
    of: Callable[..., Any]


def _rings(question: FillQuestion, facing: str) -> tuple[Ring, ...]:
    if question.rings is None:
        return () if facing == NO_RINGS else (_ring_of(facing),)
    return question.rings


@lru_cache(maxsize=100)
def _ring_of(facing: str) -> Ring:
    return Ring(facing=facing)


def facings(question: FillQuestion, base: KnowledgeBase, facing: str) -> tuple[str, ...]:
    """The different facings in the box, sorted; empty when it has no rings."""
    return tuple(sorted({ring.facing or facing for ring in _rings(question, facing)}))


def has_rings(question: FillQuestion, base: KnowledgeBase, facing: str) -> bool:
    """Whether the box has synchronizer rings."""
    return bool(_rings(question, facing))


def facing_kinds(question: FillQuestion, base: KnowledgeBase, facing: str) -> frozenset[str]:
    """The different kinds of facing in the box."""
    return frozenset(base.facings[id].kind for id in facings(question, base, facing))


def lands(question: FillQuestion, base: KnowledgeBase, facing: str, condition: str) -> tuple[Land, ...]:
    """The different facings with their condition, sorted."""
    return tuple(
        sorted({Land(ring.facing or facing, ring.condition or condition) for ring in _rings(question, facing)})
    )


def cones(question: FillQuestion, base: KnowledgeBase, facing: str, cones: int) -> int:
    """The most friction interfaces any ring set has; 0 when there are no rings."""
    return max((ring.cones or cones for ring in _rings(question, facing)), default=0)


def _sized_rings(question: FillQuestion, facing: str, cones: int) -> list[tuple[str, int]]:
    return sorted({(ring.facing or facing, ring.cones or cones) for ring in _rings(question, facing)})


def ring_reserves(question: FillQuestion, base: KnowledgeBase, facing: str, cones: int) -> tuple[RingReserve, ...]:
    """The blocking reserve of each different ring."""
    shape = ring_geometry(question, base)
    return tuple(ring_reserve(facing, cones, shape, base) for facing, cones in _sized_rings(question, facing, cones))


def shift_heats(
    question: FillQuestion, base: KnowledgeBase, facing: str, cones: int, duty: tuple[str, float]
) -> tuple[ShiftHeat, ...]:
    """The heat at the face of each different ring in the hard shifts of the duty."""
    shape = ring_geometry(question, base)
    rings = _sized_rings(question, facing, cones)
    return tuple(shift_heat(facing, cones, *duty, shape, base) for facing, cones in rings)


def copper_rings(question: FillQuestion, base: KnowledgeBase, facing: str, body: str) -> tuple[str, ...]:
    """The ring parts that are copper alloys, in words."""
    words = set()
    for ring in _rings(question, facing):
        row = base.facings[ring.facing or facing]
        if row.copper_alloy:
            words.add(f"{row.words} ring facings" if row.body is None else f"{row.words} rings")
        elif base.bodies[row.body or ring.body or body].copper_alloy:
            words.add(f"{base.bodies[row.body or ring.body or body].name.lower()} ring bodies")
    return tuple(sorted(words))


def copper_parts(
    question: FillQuestion, base: KnowledgeBase, facing: str, body: str, yellow_metal: bool
) -> tuple[str, ...]:
    """Everything in the sump that is a copper alloy, in words; the rings speak for themselves."""
    rings = copper_rings(question, base, facing, body)
    return rings or (("yellow-metal parts",) if yellow_metal else ())


def bearing(question: FillQuestion, base: KnowledgeBase) -> Bearing:
    """The bearing of the hot side, assumed where not given."""
    return question.bearing or _assumed(Bearing, "bearing", base)


def mesh(question: FillQuestion, base: KnowledgeBase) -> MeshContact:
    """The contact of the gear pair whose film is judged, its shape assumed where not given."""
    return mesh_contact(question.mesh or _assumed(Mesh, "mesh", base), base)


def wiping_land(question: FillQuestion, base: KnowledgeBase, facing: str, condition: str) -> WipingLand | None:
    """The ring that needs longest to wipe the oil away."""
    return slowest_land(lands(question, base, facing, condition), ring_geometry(question, base), base)


def cold_wiping(
    question: FillQuestion, base: KnowledgeBase, facing: str, condition: str, coldest_start_c: float
) -> ColdWiping | None:
    """That ring at the coldest start."""
    land = wiping_land(question, base, facing, condition)
    if land is None:
        return None
    usual = base.usual_lubricants[land.facing].middle_dynamic_viscosity_mpa_s(coldest_start_c)
    return ColdWiping(land, coldest_start_c, land.new_wiping_s_per_mpa_s * usual)


def ring_geometry(question: FillQuestion, base: KnowledgeBase) -> RingGeometry:
    """The cone, each missing size assumed; a missing half angle stays open, since it belongs to the facing."""
    return _ring_geometry(question.ring_geometry, base)


@lru_cache(maxsize=100)
def _ring_geometry(given: RingGeometry | None, base: KnowledgeBase) -> RingGeometry:
    return _assumed(RingGeometry, "ring_geometry", base, **(given.model_dump(exclude_none=True) if given else {}))


def _assumed(model: type[Any], part: str, base: KnowledgeBase, **given: float) -> Any:
    sizes = {row.quantity: row.value for row in base.defaults if row.part == part}
    return model(**{**sizes, **given})


def _sump_rests_on(question: FillQuestion, base: KnowledgeBase, pair: tuple[str, float]) -> Standing:
    """What a sump temperature rests on that nobody stated: the duty's."""
    return "standard" if question.sump_hot_c is not None else base.duties[pair[0]].standing


def _coldest_start_rests_on(question: FillQuestion, base: KnowledgeBase) -> Standing:
    """What a coldest start rests on that nobody stated: the values tried."""
    if question.coldest_start_c is not None:
        return "standard"
    return weakest(*[row.standing for row in base.plausible_values if row.field == "coldest_start_c"])


def _as_question(question: FillQuestion, base: KnowledgeBase) -> FillQuestion:
    return question


def _is_cold_start(question: FillQuestion, base: KnowledgeBase, coldest_start_c: float) -> bool:
    return coldest_start_c < base.limit("cold-start-caution-below")


def _is_hot_sump(question: FillQuestion, base: KnowledgeBase, pair: tuple[str, float]) -> bool:
    return pair[1] >= base.limit("hot-sump-caution-from")


def _is_hot_for_copper(question: FillQuestion, base: KnowledgeBase, pair: tuple[str, float]) -> bool:
    return pair[1] >= base.limit("yellow-metal-hot-from")


def _is_light_duty(question: FillQuestion, base: KnowledgeBase, pair: tuple[str, float]) -> bool:
    return base.duties[pair[0]].is_light


def _plain(question: FillQuestion, base: KnowledgeBase, value: Any) -> Any:
    return value


FACTS: Mapping[str, Fact] = {
    "facings": Fact(("facing",), facings),
    "has_rings": Fact(("facing",), has_rings),
    "facing_kinds": Fact(("facing",), facing_kinds),
    "wiping_land": Fact(("facing", "condition"), wiping_land),
    "cold_wiping": Fact(("facing", "condition", "coldest_start_c"), cold_wiping),
    "lands": Fact(("facing", "condition"), lands),
    "cones": Fact(("facing", "cones"), cones),
    "ring_reserves": Fact(("facing", "cones"), ring_reserves),
    "shift_heats": Fact(("facing", "cones", "duty"), shift_heats),
    "copper_parts": Fact(("facing", "body", "yellow_metal"), copper_parts),
    "final_drive": Fact(("final_drive",), _plain),
    "limited_slip": Fact(("limited_slip",), _plain),
    "wet_clutch": Fact(("wet_clutch",), _plain),
    "coldest_start_c": Fact(("coldest_start_c",), _plain),
    "is_light_duty": Fact(("duty",), _is_light_duty),
    "is_hot_for_copper": Fact(("duty",), _is_hot_for_copper),
    "sump_hot_c": Fact(("duty",), lambda question, base, pair: pair[1]),
    "sump_rests_on": Fact(("duty",), _sump_rests_on),
    "coldest_start_rests_on": Fact((), _coldest_start_rests_on),
    "bearing": Fact((), bearing),
    "mesh": Fact((), mesh),
    "is_cold_start": Fact(("coldest_start_c",), _is_cold_start),
    "is_hot_sump": Fact(("duty",), _is_hot_sump),
    "question": Fact((), _as_question),
}

# An axis of two fields that hang together; a fact that comes from one of them says so here.
DUTY_FIELDS = {
    "is_light_duty": ("/duty",),
    **dict.fromkeys(("sump_hot_c", "sump_rests_on", "is_hot_for_copper"), ("/sump_hot_c",)),
}

# What is no axis, since it is never tried in several ways.
SHAPES = {
    "bearing": ("/bearing",),
    "mesh": ("/mesh",),
    **dict.fromkeys(("wiping_land", "cold_wiping", "ring_reserves", "shift_heats"), ("/ring_geometry",)),
}


def pointers(fact: str, ring_sets: int) -> tuple[str, ...]:
    """JSON pointers to the parts of a question of so many ring sets that a fact comes from."""
    found: list[str] = []
    for axis in FACTS[fact].reads:
        if axis in RING_PARTS:
            found += [f"/rings/{index}/{axis}" for index in range(ring_sets)] or ["/rings"]
        else:
            found += DUTY_FIELDS.get(fact, ("/duty", "/sump_hot_c")) if axis == "duty" else (f"/{axis}",)
    return tuple(dict.fromkeys((*found, *SHAPES.get(fact, ()))))


def _rings_settle_what_they_can(
    question: FillQuestion, base: KnowledgeBase, facing: str, body: str, cones: int, condition: str
) -> bool:
    """Without rings there is nothing to vary; a ring made of its facing has no other body."""
    rings = _rings(question, facing)
    if not rings:
        first = {row.field: row.value for row in reversed(base.plausible_values)}
        return all(
            value is None or str(value) == first[name]
            for name, value in (("body", body), ("cones", cones), ("condition", condition))
        )
    bodies = [base.facings[ring.facing or facing].body for ring in rings if ring.body is None]
    return body is None or not bodies or None in bodies or body in bodies


def _copper_rings_are_yellow_metal(
    question: FillQuestion, base: KnowledgeBase, facing: str, body: str, yellow_metal: bool
) -> bool:
    """A copper-alloy ring is yellow metal in the sump.

    A caller who names such a ring and denies yellow metal is corrected; one who names none is believed.
    """
    if yellow_metal or (question.yellow_metal is False and _names_a_copper_ring(question, base)):
        return True
    return not copper_rings(question, base, facing, body)


def _names_a_copper_ring(question: FillQuestion, base: KnowledgeBase) -> bool:
    return any(
        (ring.facing and base.facings[ring.facing].copper_alloy) or (ring.body and base.bodies[ring.body].copper_alloy)
        for ring in question.rings or ()
    )


def _clutch_pack_needs_a_final_drive(
    question: FillQuestion, base: KnowledgeBase, final_drive: str, limited_slip: bool
) -> bool:
    """The limited-slip clutch pack sits in a final drive."""
    stated = question.final_drive is not None and question.limited_slip is not None
    return stated or not limited_slip or final_drive != "none"


POSSIBILITIES: tuple[tuple[tuple[str, ...], Callable[..., bool]], ...] = (
    (("facing", "body", "cones", "condition"), _rings_settle_what_they_can),
    (("facing", "body", "yellow_metal"), _copper_rings_are_yellow_metal),
    (("final_drive", "limited_slip"), _clutch_pack_needs_a_final_drive),
)
