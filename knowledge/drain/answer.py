"""What is answered about draining an old fluid out, by itself and as a part of a fill answer."""

from pydantic import Field

from knowledge.drain.question import DrainQuestion
from knowledge.parts.notes import CautionNote, Message, RuleNote
from knowledge.parts.provenance import (
    Assumption,
    Caution,
    Coded,
    Finding,
    KnowledgeStamp,
    ResponseModel,
    Source,
    Standing,
)


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

    text: Coded
    new: str | None = Field(description="The class it is changed to; null where none leads.")
    target_old_share: float
    rounds_to_target: int | None = Field(
        description="How many rounds reach the target; null where draining is no longer the way."
    )
    old_share_after: float = Field(description="Share of the old fluid after these rounds, or after the most shown.")
    findings: tuple[RuleNote, ...]


class FullLeftover(Leftover):
    """The same with each round, and with figures, limits and sources of the findings."""

    rounds: tuple[DrainRound, ...]
    findings: tuple[Finding, ...]  # type: ignore[assignment]  # a finding has every field of a note, and is no subclass
    assumed: tuple[Assumption, ...]


class DrainAnswer(ResponseModel):
    """What stays of the old fluid round by round, what the mixture is like, and what to mind."""

    knowledge: KnowledgeStamp
    answer_id: str
    summary: str = Field(max_length=140)
    say: str = Field(description="At most 40 words to read aloud.")
    added_share: float | None = Field(
        description="Share of a top-up in the level after it, 0 to 1; null where one is not known."
    )
    harmless: bool | None = Field(description="Whether a top-up does no harm; null where it depends, or for a change.")
    job_card: str | None = Field(description="What to write down of a top-up; null where nothing is.")
    target_old_share: float
    rounds: tuple[DrainRound, ...] = Field(
        description="Each round of drain and refill; of a top-up those that bring it out again."
    )
    rounds_to_target: int | None = Field(
        description="How many rounds reach the target; null where draining is no longer the way."
    )
    litres_to_target: float | None
    findings: tuple[RuleNote, ...] = Field(description="What cautions; in full what supports too.")
    cautions: tuple[CautionNote, ...] = Field(
        description="Those of this change that surely apply: the gravest first, at most five; in full what may too."
    )
    every_job: tuple[str, ...] = Field(description="Ids of the cautions that go with every job on a gearbox.")
    every_job_words: str
    assumed: tuple[Assumption, ...] = Field(description="What the caller did not say and was taken as given.")


class FullDrainAnswer(DrainAnswer):
    """The same with the question as understood, and figures, limits and sources of the findings."""

    question: DrainQuestion
    drained_share: float
    findings: tuple[Finding, ...]  # type: ignore[assignment]  # a finding has every field of a note, and is no subclass
    cautions: tuple[Caution, ...]  # type: ignore[assignment]  # a caution has every field of a note, and is no subclass
    messages: tuple[Message, ...] = Field(
        description="Code and parameters of each sentence here but the text of cautions, for other languages."
    )
    sources: tuple[Source, ...]
