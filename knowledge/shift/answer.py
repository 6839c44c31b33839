"""What is answered about one synchronized shift: in short, or in full with figures, curve and sources."""

from typing import Literal

from pydantic import Field
from typing_extensions import TypeAliasType

from knowledge.loading.facing_rows import LeverName, LimitName
from knowledge.parts.notes import CautionNote, Message, RuleNote
from knowledge.parts.provenance import (
    Assumption,
    Caution,
    Citation,
    Coded,
    Finding,
    KnowledgeStamp,
    ResponseModel,
    Source,
    Standing,
)
from knowledge.rings.shift_question import ShiftQuestion

ShiftVerdict = TypeAliasType("ShiftVerdict", Literal["fits", "fits-with-care", "does-not-fit"])


class FrictionUsed(ResponseModel):
    """The friction the shift was computed with.

    Torque, time and blocking at `low`; energy, power and heat at whichever of `low` and `high` is worse; wedging at
    the middle of the two, and with care at `static_typical`.
    """

    low: float
    high: float
    static_typical: float = Field(
        description="Friction at rest, as usual with a fluid that suits the facing, or with the fluid named."
    )
    static_high: float = Field(description="Friction at rest, the most that is met.")
    standing: Standing
    reason: Coded


class ShiftFigures(ResponseModel):
    """What one shift does to a ring: torque and time at the low end of its friction, the load at the worse end.

    In a short answer what rests on judgement or memory has two digits.
    """

    cone_torque_nm: float
    index_torque_nm: float
    least_friction_to_block: float
    blocking_reserve: float = Field(description="Low friction over the least that blocks: below 1 it grinds.")
    blocks: bool = Field(description="Whether the ring blocks the sleeve at the low end of friction, drag left out.")
    wedges: bool = Field(
        description="The middle of its friction is enough; where only its judged rise at rest is, that is care."
    )
    release_margin: float = Field(
        description="Tangent of the half angle over usual friction at rest: below 1 it may wedge."
    )
    pull_off_force_n: float = Field(
        description="Force that frees a ring seated with the shift force, at usual friction; 0 where it frees itself."
    )
    sync_time_s: float | None = Field(
        description="Time until the speeds match, at low friction; null when drag wins, with `sync_reason` set."
    )
    sync_reason: Coded | None = None
    wiping_time_s: float | None = Field(
        description="Time before grip with a typical oil of the fluid; null where none is named or it is too long."
    )
    energy_j: float | None = Field(
        description="Heat of one shift: this and all that follows at the end of friction where it is worse."
    )
    energy_per_area_j_mm2: float | None
    power_mean_w_mm2: float | None
    power_peak_w_mm2: float
    pressure_n_mm2: float = Field(description="Pressure on the smallest cone.")
    sliding_speed_m_s: float = Field(description="Sliding speed on the largest cone, at first slip.")
    interface_rise_k: float | None = Field(
        description="Rise of the friction face in one shift, flat contact: a lower bound."
    )
    interface_peak_c: float | None = Field(
        description="Highest temperature of the friction face in the last of the shifts."
    )
    after_shifts_c: float | None = Field(
        description="Temperature of ring and cone through and through, after the last shift."
    )


class Margin(ResponseModel):
    """One limit: a ratio of 1 is at the limit, above 1 is outside."""

    limit: LimitName
    value: float | None = Field(
        description="The figure held against it, in its unit; null where it has no end or cannot be computed."
    )
    allowed: float
    ratio: float | None
    standing: Standing = Field(description="How far what is allowed can be trusted.")


class FullMargin(Margin):
    """One limit, with what its figure rests on and why this limit was chosen."""

    unit: str
    rests_on: Standing = Field(description="The weakest standing that the value comes from.")
    refused_above: float = Field(
        description="Ratio up to which it is care and beyond which it does not fit: the same for every facing."
    )
    sources: tuple[Citation, ...]
    reason: str | None = Field(None, description="Why this row was chosen where sources disagree.")


class FacingVerdict(ResponseModel):
    """The verdict on one facing."""

    facing: str
    name: str
    verdict: ShiftVerdict
    verdict_text: Coded
    rank: int | None = Field(None, description="1 is best; null where it does not fit.")


class JudgedFacing(FacingVerdict):
    """One facing in short."""

    margins: tuple[Margin, ...] = Field(
        description="The limits it comes nearest to, the nearest first: 2, or of a single facing all."
    )
    findings: tuple[RuleNote, ...] = Field(
        description="What refuses it or warns of it: the gravest one, or of a single facing all, the gravest first."
    )


class FullJudgedFacing(FacingVerdict, ShiftFigures):
    """One facing with all its figures and the findings of every rule."""

    friction: FrictionUsed
    half_angle_deg: float
    margins: tuple[FullMargin, ...]
    findings: tuple[Finding, ...]


class ComparedRing(ResponseModel):
    """Another ring on the same shift, on a cone and in a fluid of its own where those asked about do not serve it."""

    facing: str
    cones: int
    verdict: ShiftVerdict
    why: Coded | None = Field(description="What speaks most against it; null where it fits.")
    sync_time_s: float | None
    same_time_force_n: float | None = Field(
        description="The shift force that takes it as long as the ring of the answer; null where speeds never match."
    )
    interface_peak_c: float | None
    limit: LimitName | None = Field(description="The limit it comes nearest to.")
    ratio: float | None = Field(description="The figure over that limit.")
    what_else: Coded | None = Field(description="What has to change with the ring; null for the ring as asked about.")


class LeastChangeNote(ResponseModel):
    """A least change that is enough."""

    change: LeverName
    to: float | None = Field(
        description="What to change it to, in two digits or a bound; null where no value within the bounds does it."
    )
    text: Coded


class LeastChange(LeastChangeNote):
    """The least change of one thing that brings a failing facing inside every limit."""

    facing: str
    now: float
    low: float
    high: float
    unit: str
    reason: Coded | None = Field(None, description="What stays outside, where nothing within the bounds does it.")
    ask_with: dict[str, float | int | tuple[float, ...]] = Field(
        description="Fields to put into the question to ask about the changed ring."
    )
    standing: Standing = Field(description="How far the bounds can be trusted.")


class ShiftMoment(ResponseModel):
    """The shift at one moment, counted from when the ring touches."""

    time_s: float
    speed_difference_rpm: float
    torque_nm: float
    interface_c: float | None


class UnderstoodShift(ShiftQuestion):
    """The question as it was understood, with what was assumed."""

    assumed: tuple[Assumption, ...] = ()


class ShiftOutcome(ShiftFigures):
    """What the shift asks of the ring. The figures are those of `facing`, the one asked for or else the best."""

    knowledge: KnowledgeStamp
    answer_id: str
    summary: str = Field(max_length=140)
    facing: str
    verdict: ShiftVerdict
    inertia_kg_m2: float = Field(description="What the ring has to bring to speed, reduced to the gear wheel.")
    compare: tuple[ComparedRing, ...] = Field(
        description="Side by side: `facing` with one, two and three cones, then facings of other kinds."
    )


class ShiftAnswer(ShiftOutcome):
    """What the shift asks of the ring, in short; `detail=full` gives the rest."""

    facings: tuple[JudgedFacing, ...] = Field(description="The facings that were judged, best first.")
    least_changes: tuple[LeastChangeNote, ...] = Field(description="Any one of them is enough for `facing`.")
    assumed: tuple[str, ...] = Field(description="Pointers to what the question left out and was assumed.")
    cautions: tuple[CautionNote, ...]


class FullShiftAnswer(ShiftOutcome):
    """What the shift asks of the ring, with everything that it was judged by."""

    question: UnderstoodShift
    friction: FrictionUsed
    standings: dict[str, Standing] = Field(description="The weakest standing that each figure comes from, by its name.")
    facings: tuple[FullJudgedFacing, ...] = Field(description="The facings that were judged, best first.")
    least_changes: tuple[LeastChange, ...]
    curve_friction: float = Field(description="Friction of the curve: the end where the face gets hotter.")
    curve: tuple[ShiftMoment, ...]
    how_judged: tuple[str, ...] = Field(
        description="At which end of friction it was judged, and what limits of low standing mean."
    )
    cautions: tuple[Caution, ...]
    messages: tuple[Message, ...] = Field(
        description="Code and parameters of each sentence here but those of cautions and limits, for other languages."
    )
    sources: tuple[Source, ...]
