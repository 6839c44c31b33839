"""The figures that code asks for by name: which there must be, their units, and what each may be."""

from collections.abc import Mapping
from typing import NamedTuple

from pydantic import BaseModel

from knowledge.box.question import Bearing, Mesh
from knowledge.parts.ring import RingGeometry
from knowledge.rings.ring_shift import ASSUMED
from knowledge.rings.shift_question import ShiftQuestion


class Kind(NamedTuple):
    """What a figure may be: its unit, and the least and the most that makes sense."""

    unit: str
    least: float
    most: float


KV100 = Kind("mm²/s", 2, 100)
FLOW = Kind("mPa·s", 1_000, 10_000_000)
CELSIUS = Kind("°C", -60, 200)
KELVIN = Kind("K", 1, 50)
HOURS = Kind("h", 0.1, 1_000)
SECONDS = Kind("s", 0.001, 1_000)
MILLIMETRES = Kind("mm", 0.001, 100)
RATIO = Kind("1", 0.01, 100)
SPREAD = Kind("1", 1, 100)
SHARE = Kind("1", 0.001, 0.999)
ROUNDS = Kind("1", 1, 100)
STEPS = Kind("steps", 0, 9)

# Every id that `KnowledgeBase.limit` is asked for: thresholds.csv holds these and no others.
THRESHOLDS: Mapping[str, Kind] = {
    "lining-kv100-below": KV100,
    "lining-gear-oil-kv100-below": KV100,
    "ring-drag-kv100-from": KV100,
    "copper-strip-temperature-from": CELSIUS,
    "copper-strip-hours-from": HOURS,
    "yellow-metal-hot-from": CELSIUS,
    "hot-sump-caution-from": CELSIUS,
    "cold-start-caution-below": CELSIUS,
    "flow-limit-mpa-s": FLOW,
    "bearing-ratio-refused-below": RATIO,
    "bearing-ratio-additive-below": RATIO,
    "film-lambda-ep-below": RATIO,
    "film-lambda-additive-below": RATIO,
    "pressure-viscosity-k": Kind("mm²/N", 0.001, 0.1),
    "pressure-viscosity-s": RATIO,
    "wiping-time-slow-from": SECONDS,
    "wiping-time-hard-from": SECONDS,
    "wiping-spread-thread": SPREAD,
    "wiping-spread-other": SPREAD,
    "wiping-cones-exponent": SHARE,
    "cold-shift-force": Kind("N", 50, 5000),
    "drag-share-slow-from": RATIO,
    "drag-share-hard-from": RATIO,
    "drained-share-usual": SHARE,
    "drain-rounds-most": ROUNDS,
    "neighbour-kv100-times": Kind("1", 1, 10),
    "oil-hot-from": CELSIUS,
    "oil-life-halves-per": KELVIN,
    "oil-life-halves-per-in-trade": KELVIN,
    "synthetic-viscosity-index-from": Kind("1", 80, 200),
    "suspects-near-within": STEPS,
    "steel-cone-bulk-from": Kind("°C", 100, 1_000),
    "synchronizing-long-from": SECONDS,
    "taper-gap-from": MILLIMETRES,
    "rare-share-below": SHARE,
    "only-the-book-from": SHARE,
    "deep-cold-below": CELSIUS,
    "question-effort-at-least": SHARE,
    "thickness-told-from": Kind("1", 1, 2),
    "cold-shift-told-below": CELSIUS,
    "facing-limit-refused-from": Kind("1", 1, 10),
    "facing-temperature-refused-from": Kind("K", 0, 100),
    "contact-share-least": SHARE,
}

# The first of each two must stay below the second, or the band between them is turned over.
BANDS = (
    ("bearing-ratio-refused-below", "bearing-ratio-additive-below"),
    ("film-lambda-ep-below", "film-lambda-additive-below"),
    ("wiping-time-slow-from", "wiping-time-hard-from"),
    ("drag-share-slow-from", "drag-share-hard-from"),
)

# What defaults.csv holds for a question that leaves it out: the model that says what each may be, and the names.
ASSUMED_FOR_A_QUESTION: Mapping[str, tuple[type[BaseModel], tuple[str, ...]]] = {
    "bearing": (Bearing, tuple(Bearing.model_fields)),
    "mesh": (Mesh, tuple(Mesh.model_fields)),
    "ring_geometry": (RingGeometry, ASSUMED["ring_geometry"]),
    "shift": (ShiftQuestion, ASSUMED["shift"]),
}

# And what no question asks.
ASSUMED_ALWAYS: Mapping[tuple[str, str], Kind] = {
    ("steel", "elastic_modulus_gpa"): Kind("GPa", 1, 1_000),
    ("steel", "poisson_ratio"): Kind("1", 0, 0.5),
    ("shift", "groove_length_mm"): MILLIMETRES,
    ("shift", "drag_viscous_share"): SHARE,
    ("shift", "drag_exponent"): Kind("1", 0.2, 1),
    ("shift", "drag_reference_mm2_s"): Kind("mm²/s", 2, 1_000),
    ("shift", "spline_to_mean_radius"): Kind("1", 0.5, 3),
    ("shift", "warming_depth_mm"): MILLIMETRES,
    ("shift", "cooling_time_constant_s"): SECONDS,
}
