"""What a rule may read of the box: each fact, and the fields of the question it follows from.

A rule names the facts it reads; nothing else of the question reaches it. Every fact lies on one axis or on none.
"""

from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Any, NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.box.axes import DRIVE, DUTY, FIELDS_OF_AXES, RING_PARTS
from knowledge.box.mating import ConeShape, Land, MeshContact, WipingLand, mesh_contact, slowest_land
from knowledge.box.possible import copper_rings, rings_of
from knowledge.box.question import Bearing, FillQuestion, Mesh
from knowledge.parts.ring import RingGeometry


class Fact(NamedTuple):
    """The fields that a fact follows from, all of one axis, how it does, and its pointers where those are others.

    `is_of_figures`: it also follows from figures that may be drawn.
    """

    reads: tuple[str, ...]
    of: Callable[..., Any]
    pointers: tuple[str, ...] = ()
    shapes: tuple[str, ...] = ()
    is_of_figures: bool = False


class SizedRing(NamedTuple):
    """A facing and how many cones its set has."""

    facing: str
    cones: int


# What stands for the copper alloys of a box whose rings are of none.
OTHER_COPPER = ("yellow-metal parts",)


def facings(question: FillQuestion, base: KnowledgeBase, facing: str) -> tuple[str, ...]:
    """The different facings in the box, sorted; empty when it has no rings."""
    return tuple(sorted({ring.facing or facing for ring in rings_of(question, facing)}))


def facing_kinds(question: FillQuestion, base: KnowledgeBase, facing: str) -> frozenset[str]:
    """The different kinds of facing in the box."""
    return frozenset(base.facings[id].kind for id in facings(question, base, facing))


def lands(question: FillQuestion, base: KnowledgeBase, facing: str, condition: str) -> tuple[Land, ...]:
    """The different facings with their condition, sorted."""
    rings = rings_of(question, facing)
    return tuple(sorted({Land(ring.facing or facing, ring.condition or condition) for ring in rings}))


def cones(question: FillQuestion, base: KnowledgeBase, facing: str, cones: int) -> int:
    """The most friction interfaces any ring set has; 0 when there are no rings."""
    return max((ring.cones or cones for ring in rings_of(question, facing)), default=0)


def sized_rings(question: FillQuestion, base: KnowledgeBase, facing: str, cones: int) -> tuple[SizedRing, ...]:
    """The different facings with the cones of their sets, sorted."""
    rings = rings_of(question, facing)
    return tuple(sorted({SizedRing(ring.facing or facing, ring.cones or cones) for ring in rings}))


def copper_parts(
    question: FillQuestion, base: KnowledgeBase, facing: str, body: str, yellow_metal: bool
) -> tuple[str, ...]:
    """Everything in the sump that is a copper alloy, in words; copper rings count whatever was stated."""
    rings = copper_rings(question, base, facing, body)
    return rings or (OTHER_COPPER if yellow_metal else ())


def wiping_land(
    question: FillQuestion, base: KnowledgeBase, facing: str, condition: str, cones: int
) -> WipingLand | None:
    """The ring that needs longest to wipe the oil away."""
    rings = rings_of(question, facing)
    sets = {(Land(ring.facing or facing, ring.condition or condition), ring.cones or cones) for ring in rings}
    return _slowest_land(tuple(sorted(sets)), question.ring_geometry, base)


def bearing(question: FillQuestion, base: KnowledgeBase) -> Bearing:
    """The bearing of the hot side, assumed where not given."""
    return question.bearing or _assumed_bearing(base)


def mesh(question: FillQuestion, base: KnowledgeBase) -> MeshContact:
    """The contact of the gear pair whose film is judged, its shape assumed where not given."""
    return mesh_contact(question.mesh, base) if question.mesh else _assumed_mesh(base)


def cone_shape(given: RingGeometry | None, base: KnowledgeBase) -> ConeShape:
    """The cone, each missing size assumed."""
    if given is None:
        return _assumed_cone(base)
    return _assumed_cone(base)._replace(**given.model_dump(exclude_none=True))


@lru_cache(maxsize=64)
def _slowest_land(
    sets: tuple[tuple[Land, int], ...], given: RingGeometry | None, base: KnowledgeBase
) -> WipingLand | None:
    return slowest_land(sets, cone_shape(given, base), base)


# Most boxes are of assumed shape, and that is the same for all of them.
@lru_cache(maxsize=2)
def _assumed_bearing(base: KnowledgeBase) -> Bearing:
    return Bearing.model_construct(**_sizes("bearing", base))


@lru_cache(maxsize=2)
def _assumed_mesh(base: KnowledgeBase) -> MeshContact:
    return mesh_contact(Mesh(**_sizes("mesh", base)), base)


@lru_cache(maxsize=2)
def _assumed_cone(base: KnowledgeBase) -> ConeShape:
    return ConeShape(**_sizes("ring_geometry", base), half_angle_deg=None)


def _sizes(part: str, base: KnowledgeBase) -> dict[str, Any]:
    return {row.quantity: row.value for row in base.defaults.values() if row.part == part}


def _plain(question: FillQuestion, base: KnowledgeBase, value: Any) -> Any:
    return value


def _sump_from(threshold: str) -> Callable[[FillQuestion, KnowledgeBase, tuple[str, float]], bool]:
    return lambda question, base, pair: pair[1] >= base.limit(threshold)


def _start_below(threshold: str) -> Callable[[FillQuestion, KnowledgeBase, float], bool]:
    return lambda question, base, coldest_start_c: coldest_start_c < base.limit(threshold)


SUMP = ("/sump_hot_c",)
GEOMETRY = ("/ring_geometry",)
FACTS: Mapping[str, Fact] = {
    "facings": Fact(("facing",), facings),
    "facing_kinds": Fact(("facing",), facing_kinds),
    "lands": Fact(("facing", "condition"), lands),
    "wiping_land": Fact(("facing", "condition", "cones"), wiping_land, shapes=GEOMETRY, is_of_figures=True),
    "cones": Fact(("facing", "cones"), cones),
    "sized_rings": Fact(("facing", "cones"), sized_rings, shapes=GEOMETRY),
    "copper_parts": Fact(("facing", "body", "yellow_metal"), copper_parts),
    # What stands on an axis as it is asked.
    **{field: Fact((field,), _plain) for fields in FIELDS_OF_AXES[DRIVE:DUTY] for field in fields},
    "duty_and_sump": Fact(("duty",), _plain, ("/duty", "/sump_hot_c")),
    "is_light_duty": Fact(("duty",), lambda question, base, pair: base.duties[pair[0]].is_light, ("/duty",)),
    "is_hot_for_copper": Fact(("duty",), _sump_from("yellow-metal-hot-from"), SUMP, is_of_figures=True),
    "is_hot_sump": Fact(("duty",), _sump_from("hot-sump-caution-from"), SUMP),
    "is_cold_start": Fact(("coldest_start_c",), _start_below("cold-start-caution-below")),
    "is_deep_cold": Fact(("coldest_start_c",), _start_below("deep-cold-below")),
    "sump_hot_c": Fact(("duty",), lambda question, base, pair: pair[1], SUMP, is_of_figures=True),
    "bearing": Fact((), bearing, ("/bearing",), is_of_figures=True),
    "mesh": Fact((), mesh, ("/mesh",)),
}


def pointers(name: str, ring_sets: int) -> tuple[str, ...]:
    """JSON pointers to the parts of a question of so many ring sets that a fact comes from."""
    fact = FACTS[name]
    if fact.pointers:
        return fact.pointers
    found: list[str] = []
    for field in fact.reads:
        if field in RING_PARTS:
            found += [f"/rings/{index}/{field}" for index in range(ring_sets)] or ["/rings"]
        else:
            found.append(f"/{field}")
    return tuple(dict.fromkeys((*found, *fact.shapes)))
