"""What was assumed of a shift where its question left something out."""

from collections.abc import Iterable, Iterator

from knowledge.base import KnowledgeBase
from knowledge.parts.digits import shown
from knowledge.parts.provenance import Assumption, Standing, weakest
from knowledge.rings.ring_shift import ASSUMED, chosen_friction, mean_radii_mm
from knowledge.rings.shift_question import ShiftQuestion
from knowledge.text import listed, plain

USUAL_SIZE = "Not given; a usual one."

# What is assumed without a table.
OWN_CHOICES = (
    ("direction", "down", "Not given; the harder one, since drag fights the ring."),
    ("condition", "new", "Not given."),
    ("start_c", "the sump's", "Not given."),
)


def assumptions(question: ShiftQuestion, facings: tuple[str, ...], base: KnowledgeBase) -> Iterator[Assumption]:
    """Everything that the caller left out, with what was taken for it."""
    yield from _assumed_sizes(question, base)
    own = base.sources["fillwright-judgement"].standing
    for name, value, reason in OWN_CHOICES:
        if getattr(question, name) is None and (name != "start_c" or question.fluid is not None):
            yield _assumed(name, value, own, reason)
    lands = [base.ring_lands[facing, "new"] for facing in facings]
    if question.half_angle_deg is None and question.cone_half_angle_deg is not None:
        angle = f"{plain(question.cone_half_angle_deg)}°"
        yield _assumed("half_angle_deg", angle, own, "Not given; as measured on the cone.")
    elif question.half_angle_deg is None:
        angles = _for_each(facings, (f"{plain(row.half_angle_deg)}°" for row in lands), base)
        yield _assumed("half_angle_deg", angles, weakest(*(row.standing for row in lands)), "Not given; usual ones.")
    if question.friction is None:
        rows = [chosen_friction(facing, base) for facing in facings]
        spans = _for_each(facings, (f"{plain(row.dynamic_min)} to {plain(row.dynamic_max)}" for row in rows), base)
        reason = "Not given; the named fluid lowers it." if question.fluid else "Not given; with a fluid that suits."
        yield _assumed("friction", spans, weakest(*(row.standing for row in rows)), reason)


def _for_each(facings: Iterable[str], values: Iterable[str], base: KnowledgeBase) -> str:
    pairs = zip(values, facings, strict=True)
    return listed((f"{value} for {base.facings[facing].words}" for value, facing in pairs), "and")


def _assumed_sizes(question: ShiftQuestion, base: KnowledgeBase) -> Iterator[Assumption]:
    for part, names in ASSUMED.items():
        for name in names:
            is_stated = name == "cones" and isinstance(question.mean_radius_mm, tuple)
            if getattr(question, name) is None and not is_stated:
                row = base.default(part, name)
                unit = "" if row.unit == "1" else f" {row.unit}"
                yield _assumed(name, f"{plain(row.value)}{unit}", row.standing, row.note or USUAL_SIZE)
    if question.spline_radius_mm is None:
        row = base.default("shift", "spline_to_mean_radius")
        radius = f"{shown(row.value * max(mean_radii_mm(question, base)), row.standing)} mm"
        yield _assumed("spline_radius_mm", radius, row.standing, row.note)


def _assumed(name: str, value: str, standing: Standing, reason: str | None) -> Assumption:
    return Assumption(pointer=f"/{name}", value=value, standing=standing, reason=reason)
