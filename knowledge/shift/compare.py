"""The ring of an answer beside others on the same shift: more or fewer cones, and facings of another kind."""

from collections.abc import Iterator

from knowledge.base import KnowledgeBase
from knowledge.parts.digits import rounded
from knowledge.rings.ring_shift import ring_shift
from knowledge.rings.shift_question import ShiftQuestion
from knowledge.shift.answer import ComparedRing
from knowledge.shift.changes import changed
from knowledge.shift.judge import JudgedRing
from knowledge.shift.loaded_ring import LoadedRing
from knowledge.text import Said, plain

COUNTS = (1, 2, 3)

# To be replaced together with the rings.
A_SET = Said("Ring set, hub and gear cone.", "a-set")


def compared(question: ShiftQuestion, best: JudgedRing) -> Iterator[ComparedRing]:
    """The best ring with each number of cones, then the first that is reached for of each kind of facing."""
    ring, base = best.ring, best.ring.base
    for cones in COUNTS:
        is_as_asked = cones == ring.shift.cones
        other = LoadedRing(changed("cones", ring.shift, cones), base)
        yield _row(best if is_as_asked else JudgedRing(other), ring, None if is_as_asked else A_SET)
    by_turn = sorted(base.facings.values(), key=lambda row: row.reached_for)
    firsts = {row.kind: row.id for row in reversed(by_turn)}
    for facing in (row.id for row in by_turn if row.id == firsts[row.kind] and row.id != ring.shift.facing):
        other = LoadedRing(ring_shift(_on_its_own_cone(question, facing, ring), facing, base), base)
        yield _row(JudgedRing(other), ring, _what_else(ring, other))


def _on_its_own_cone(question: ShiftQuestion, facing: str, ring: LoadedRing) -> ShiftQuestion:
    """The same shift with what belongs to the ring that was asked about left out."""
    base = ring.base
    own: dict[str, object] = {"friction": None, "cone_half_angle_deg": None}
    if "lined" in {base.facings[facing].kind, base.facings[ring.shift.facing].kind}:
        own["half_angle_deg"] = None
    family, same = ring.shift.family, LoadedRing(ring_shift(question, facing, base), base)
    if family is not None and (same.too_thick or base.facing_families[facing, family.id].fitness != "first"):
        own["fluid"] = base.facings[facing].usual_lubricant
    return question.model_copy(update=own)


def _what_else(ring: LoadedRing, other: LoadedRing) -> Said:
    """What has to change with the facing: the cone, its angle and finish, and what is filled."""
    was, now = (plain(each.shift.half_angle_deg) for each in (ring, other))
    angle = "" if was == now else f" at {now}°, not {was}°,"
    base, (usual, fill) = ring.base, (_fill(each) for each in (ring, other))
    fluid = "" if _name(usual, base) == _name(fill, base) else f" Fill {_name(fill, base)}, not {_name(usual, base)}."
    text = f"Ring and cone together:{angle} {base.facings[other.shift.facing].cone_finish}.{fluid}"
    angles = {"half_angle_deg": float(now), "not_half_angle_deg": float(was)} if angle else {}
    fluids = {"fill": fill, "not_fill": usual} if fluid else {}
    return Said(text, "ring-and-cone-together", facing=other.shift.facing, **angles, **fluids)


def _fill(ring: LoadedRing) -> str:
    """The class that was named, or else the one that is usual for the facing."""
    return ring.shift.oil.id if ring.shift.oil else ring.base.facings[ring.shift.facing].usual_lubricant


def _name(lubricant: str, base: KnowledgeBase) -> str:
    row = base.lubricant_rows[lubricant]
    return f"{base.families[row.family].label} {row.grade or ''}".rstrip()


def _row(judged: JudgedRing, beside: LoadedRing, what_else: Said | None) -> ComparedRing:
    ring, margins = judged.ring, judged.nearest_margins
    force = None
    if None not in (ring.figures.sync_time_s, beside.figures.sync_time_s):
        force = beside.figures.cone_torque_nm / ring.figures.cone_torque_nm * ring.shift.shift_force_n
    figures = {
        name: rounded(ring.on_the_wire[name], ring.standing(name)) for name in ("sync_time_s", "interface_peak_c")
    }
    return ComparedRing(
        **figures,
        facing=ring.shift.facing,
        cones=ring.shift.cones,
        verdict=judged.verdict,
        why=None if judged.verdict == "fits" else judged.why,
        same_time_force_n=rounded(force, ring.standing("cone_torque_nm")),
        limit=margins[0].limit if margins else None,
        ratio=margins[0].ratio if margins else None,
        what_else=what_else,
    )
