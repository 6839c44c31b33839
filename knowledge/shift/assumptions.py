"""What was assumed of a shift where its question left something out."""

from collections.abc import Iterable, Iterator

from knowledge.base import KnowledgeBase
from knowledge.loading.schema import DefaultRow
from knowledge.parts.digits import shown
from knowledge.parts.provenance import Assumption, Standing, weakest
from knowledge.rings.ring_shift import ASSUMED, chosen_friction, mean_radii_mm
from knowledge.rings.shift_question import ShiftQuestion
from knowledge.text import Said, listed, plain

USUAL_SIZE = Said("Not given; a usual one.", "assumed-usual-one")
USUAL_ANGLES = Said("Not given; usual ones.", "assumed-usual-angles")
AS_MEASURED = Said("Not given; as measured on the cone.", "assumed-as-measured-on-the-cone")
LOWERED = Said("Not given; the named fluid lowers it.", "assumed-lowered-by-the-fluid")
WITH_A_SUITING_FLUID = Said("Not given; with a fluid that suits.", "assumed-with-a-suiting-fluid")
NOT_GIVEN = Said("Not given.", "assumed-not-given")

# What is assumed without a table.
OWN_CHOICES = (
    ("direction", "down", Said("Not given; the harder one, since drag fights the ring.", "assumed-the-harder-one")),
    ("condition", "new", NOT_GIVEN),
    ("start_c", "the sump's", NOT_GIVEN),
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
        yield _assumed("half_angle_deg", angle, own, AS_MEASURED)
    elif question.half_angle_deg is None:
        angles = _for_each(facings, (f"{plain(row.half_angle_deg)}°" for row in lands), base)
        yield _assumed("half_angle_deg", angles, weakest(*(row.standing for row in lands)), USUAL_ANGLES)
    if question.friction is None:
        rows = [chosen_friction(facing, base) for facing in facings]
        spans = _for_each(facings, (f"{plain(row.dynamic_min)} to {plain(row.dynamic_max)}" for row in rows), base)
        reason = LOWERED if question.fluid else WITH_A_SUITING_FLUID
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
                yield _assumed(name, f"{plain(row.value)}{unit}", row.standing, _note(row) or USUAL_SIZE)
    if question.spline_radius_mm is None:
        row = base.default("shift", "spline_to_mean_radius")
        radius = f"{shown(row.value * max(mean_radii_mm(question, base)), row.standing)} mm"
        yield _assumed("spline_radius_mm", radius, row.standing, _note(row))


def _assumed(name: str, value: str, standing: Standing, reason: str | None) -> Assumption:
    return Assumption(pointer=f"/{name}", value=value, standing=standing, reason=reason)


def _note(row: DefaultRow) -> Said | None:
    return Said(row.note, f"assumed-{row.quantity.replace('_', '-')}") if row.note else None
