"""What may be asked about draining an old fluid out, and what is answered."""

from pydantic import Field

from knowledge.drain.leftover_answer import DrainRound
from knowledge.drain.question import DrainQuestion
from knowledge.parts.provenance import Assumption, Caution, Finding, KnowledgeStamp, ResponseModel, Source


class UnderstoodDrain(DrainQuestion):
    """The question as it was understood, with what was assumed."""

    assumed: tuple[Assumption, ...] = ()


class DrainPlan(ResponseModel):
    """One way to spend the same litres of new fluid."""

    rounds: int
    drained_share: float
    drained_l: float | None
    litres_used: float | None
    old_share: float
    text: str


class DrainAnswer(ResponseModel):
    """What stays of the old fluid round by round, what the mixture is like, and what to mind."""

    knowledge: KnowledgeStamp
    answer_id: str
    question: UnderstoodDrain
    summary: str = Field(max_length=140)
    drained_share: float
    target_old_share: float
    rounds: tuple[DrainRound, ...]
    rounds_to_target: int | None = Field(description="Null where draining is no longer the way.")
    litres_to_target: float | None
    plans: tuple[DrainPlan, ...] = Field(description="Other ways to spend the same litres, least left over first.")
    findings: tuple[Finding, ...]
    cautions: tuple[Caution, ...]
    sources: tuple[Source, ...]
