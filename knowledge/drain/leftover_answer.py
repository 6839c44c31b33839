"""What stays of an old fluid, as an answer shows it."""

from pydantic import Field

from knowledge.parts.provenance import Assumption, Finding, ResponseModel, Standing


class DrainRound(ResponseModel):
    """What is in the box after one more drain, refill and run."""

    old_share: float
    kv40_mm2_s: float | None = None
    kv100_mm2_s: float | None = None
    viscosity_index: int | None = None
    hot_grade_estimate: str | None = Field(None, description="SAE J306 (2019) hot grade; a measured one counts.")
    litres_used: float | None = None
    standing: Standing = "computed"
    rests_on: Standing = Field(description="The weakest standing that share and viscosities come from.")


class Leftover(ResponseModel):
    """What stays of the old fluid when it is drained and refilled."""

    text: str
    new: str | None = Field(description="The class it is changed to; null where none leads.")
    target_old_share: float
    rounds_to_target: int | None = Field(description="Null where draining is no longer the way.")
    rounds: tuple[DrainRound, ...]
    findings: tuple[Finding, ...]
    assumed: tuple[Assumption, ...] = ()
