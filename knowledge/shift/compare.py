"""The ring of an answer beside others on the same shift: more or fewer cones, and facings of another kind."""

from collections.abc import Iterator

from knowledge.base import KnowledgeBase
from knowledge.parts.digits import rounded
from knowledge.rings.ring_shift import ring_shift
from knowledge.rings.shift_question import ShiftQuestion
from knowledge.shift.answer import ComparedRing
from knowledge.shift.changes import changed
from knowledge.shift.judge import JudgedRing
from knowledge.shift.loaded_ring import SERVING, LoadedRing
from knowledge.text import plain

COUNTS = (1, 2, 3)

# To be replaced together with the rings.
A_SET = "A set made for it: hub, all rings and the cone of the gear."


def compared(question: ShiftQuestion, best: JudgedRing) -> Iterator[ComparedRing]:
    """The best ring with each number of cones, then the first that is reached for of each kind of facing."""
    ring, base = best.ring, best.ring.base
    for cones in COUNTS:
        is_as_asked = cones == len(ring.shift.mean_radii_mm)
        other = LoadedRing(changed("cones", ring.shift, cones), base)
        yield _row(best if is_as_asked else JudgedRing(other), ring, "" if is_as_asked else A_SET)
    by_turn = sorted(base.facings.values(), key=lambda row: row.reached_for)
    firsts = {row.kind: row.id for row in reversed(by_turn)}
    for facing in (row.id for row in by_turn if row.id == firsts[row.kind] and row.id != ring.shift.facing):
        other = LoadedRing(ring_shift(_on_its_own_cone(question, facing, base), facing, base), base)
        yield _row(JudgedRing(other), ring, _what_else(ring, other))


def _on_its_own_cone(question: ShiftQuestion, facing: str, base: KnowledgeBase) -> ShiftQuestion:
    """The same shift with what belongs to the ring that was asked about left out."""
    own: dict[str, object] = {"friction": None, "cone_half_angle_deg": None}
    bound = next(row for row in base.shift_bounds if row.lever == "half_angle_deg" and row.facing == facing)
    if question.half_angle_deg is None or not bound.low <= question.half_angle_deg <= bound.high:
        own["half_angle_deg"] = None
    oil = next((oil for oil in base.lubricants if oil.id == question.fluid), None)
    if oil is not None and base.facing_families[facing, oil.family.id].fitness not in SERVING:
        own["fluid"] = base.facings[facing].usual_lubricant
    return question.model_copy(update=own)


def _what_else(ring: LoadedRing, other: LoadedRing) -> str:
    """What has to change with the facing: the cone, its angle and finish, and what is filled."""
    base, was, now = ring.base, ring.base.facings[ring.shift.facing], ring.base.facings[other.shift.facing]
    angles = [plain(each.shift.half_angle_deg) for each in (other, ring)]
    angle = "" if angles[0] == angles[1] else f" of {angles[0]}, not {angles[1]}°,"
    fluids = [
        base.lubricant_rows[each.shift.oil.id if each.shift.oil else row.usual_lubricant].name
        for each, row in ((other, now), (ring, was))
    ]
    fluid = "" if fluids[0] == fluids[1] else f" Usual fill {fluids[0]}, not {fluids[1]}."
    return f"Ring and cone together, the cone{angle} {now.cone_finish}.{fluid}"


def _row(judged: JudgedRing, beside: LoadedRing, what_else: str) -> ComparedRing:
    ring, margins = judged.ring, judged.nearest_margins
    force = beside.figures.cone_torque_nm / ring.figures.cone_torque_nm * ring.shift.shift_force_n
    figures = {
        name: rounded(ring.on_the_wire[name], ring.standing(name)) for name in ("sync_time_s", "interface_peak_c")
    }
    return ComparedRing(
        **figures,
        facing=ring.shift.facing,
        cones=len(ring.shift.mean_radii_mm),
        verdict=judged.verdict,
        why=None if judged.verdict == "fits" else judged.why,
        same_time_force_n=rounded(force, ring.standing("cone_torque_nm")),
        limit=margins[0].limit if margins else None,
        ratio=margins[0].ratio if margins else None,
        what_else=what_else or None,
    )
