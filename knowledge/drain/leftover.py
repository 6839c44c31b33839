"""What stays of the fluid that is in a box, as a part of the answer to what to fill it with."""

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.drain.change import Change, Fluid, change_assumptions
from knowledge.drain.findings import POINTERS, change_findings
from knowledge.drain.leftover_answer import FullLeftover, Leftover
from knowledge.drain.rounds import drain_rounds
from knowledge.lubricant import Lubricant
from knowledge.parts.jug import Jug
from knowledge.parts.notes import rule_notes, shortened
from knowledge.parts.request_model import Detail

IN_IT_NOW = dict.fromkeys(POINTERS, ("/in_it_now",))


def leftover(
    jug: Jug,
    new: Lubricant | None,
    capacity_l: float | None,
    question: FillQuestion,
    base: KnowledgeBase,
    detail: Detail = "short",
) -> Leftover:
    """What stays of the fluid that is in a box, when it is changed to another class; in full a `FullLeftover`."""
    change = Change.of(Fluid.of_jug(jug, base), Fluid.of_class(new) if new else Fluid(), base)
    assumed = tuple(change_assumptions(change, base, is_drained_given=False))
    drained_l = None if capacity_l is None else capacity_l * change.drained_share
    rounds = drain_rounds(change, assumed, drained_l, base, detail)
    full = FullLeftover(
        text=change.target_text,
        new=new.id if new else None,
        target_old_share=change.target_old_share,
        rounds_to_target=change.rounds_to_target,
        old_share_after=rounds[-1].old_share,
        rounds=rounds,
        findings=tuple(change_findings(change, question, base, IN_IT_NOW, "")),
        assumed=assumed,
    )
    return full if detail == "full" else shortened(full, Leftover, findings=rule_notes(full.findings))
