"""What stays of an old fluid, as an answer shows it."""

from pydantic import Field

from knowledge.parts.notes import RuleNote
from knowledge.parts.provenance import Assumption, Finding, ResponseModel, Standing


class DrainRound(ResponseModel):
    """What is in the box after one more drain, refill and run."""

    old_share: float
    kv40_mm2_s: float | None
    kv100_mm2_s: float | None
    viscosity_index: int | None
    hot_grade_estimate: str | None = Field(description="SAE J306 (2019) hot grade; a measured one counts.")
    litres_used: float | None
    rests_on: Standing = Field(description="The weakest standing that share and viscosities are computed from.")


class Leftover(ResponseModel):
    """What stays of the old fluid when it is drained and refilled."""

    text: str
    new: str | None = Field(description="The class it is changed to; null where none leads.")
    target_old_share: float
    rounds_to_target: int | None = Field(description="Null where draining is no longer the way.")
    old_share_after: float = Field(description="Share of the old fluid after these rounds, or after the most shown.")
    findings: tuple[RuleNote, ...]


class FullLeftover(Leftover):
    """The same with each round, and with figures, limits and sources of the findings."""

    rounds: tuple[DrainRound, ...]
    findings: tuple[Finding, ...]  # type: ignore[assignment]  # a finding has every field of a note, and is no subclass
    assumed: tuple[Assumption, ...]
