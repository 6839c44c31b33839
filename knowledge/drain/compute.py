"""How often must it be drained? What is left of the old fluid, and the mixture on the way."""

from collections.abc import Iterator

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.citing import answer_id, sources_of
from knowledge.drain.answer import DrainAnswer, DrainPlan, FullDrainAnswer
from knowledge.drain.change import OUR_CHOICES, Change, Fluid, change_assumptions
from knowledge.drain.findings import POINTERS, change_findings
from knowledge.drain.over_box import box_cautions
from knowledge.drain.question import DrainFluid, DrainQuestion
from knowledge.drain.rounds import digits_shown, drain_rounds
from knowledge.errors import MoreThanItHolds
from knowledge.ids import check_ids
from knowledge.parts.jug import Jug
from knowledge.parts.notes import caution_notes, rule_notes, shortened
from knowledge.parts.provenance import Finding
from knowledge.parts.request_model import Detail
from knowledge.physics.blending import share_left
from knowledge.shop.shop import NO_SHOP, Shop, filled_in
from knowledge.text import digits, significant, spoken

# Into how many smaller drains the litres of one are split for comparison.
PIECES = (2, 4)


def compute_drain_answer(
    asked: DrainQuestion, base: KnowledgeBase, shop: Shop = NO_SHOP, detail: Detail = "short"
) -> DrainAnswer:
    """The answer to a question about draining, in full a `FullDrainAnswer`; its box is looked up in `shop`.

    Raises UnknownIds when the question names an id that neither the knowledge nor the shop has, and MoreThanItHolds
    when more is drained than the box of the shop holds.
    """
    check_ids(asked, base, shop.boxes)
    box, from_box = filled_in(asked.question, shop) if asked.question else (None, None)
    capacity_l, drained_l = _litres(asked, from_box.capacity_l if from_box else None, base)
    change = Change.of(
        _fluid(asked.old or (box.in_it_now if box else None), base),
        _fluid(asked.new, base),
        base,
        drained_share=drained_l / capacity_l if capacity_l and drained_l else None,
        target_old_share=asked.target_old_share,
        rounds=asked.rounds,
    )
    is_drained_given = asked.drained_l is not None and capacity_l is not None
    assumed = tuple(change_assumptions(change, base, is_drained_given=is_drained_given))
    rounds = drain_rounds(change, assumed, drained_l, base, detail)
    findings = tuple(change_findings(change, box or FillQuestion(), base, POINTERS, "/question"))
    cautions = box_cautions(box, base)
    litres_rest_on = "computed" if is_drained_given else base.quantity("drained-share-usual").standing
    needed_l = None if change.rounds_to_target is None or drained_l is None else change.rounds_to_target * drained_l
    full = FullDrainAnswer(
        knowledge=base.stamp,
        answer_id=answer_id("drain", asked, base.digest, *(shop.used_by(asked.question) if asked.question else ())),
        summary=f"{change.target_text} Mixture figures are estimates.",
        say=_say(change, needed_l, findings),
        target_old_share=change.target_old_share,
        rounds=rounds,
        rounds_to_target=change.rounds_to_target,
        litres_to_target=None if needed_l is None else significant(needed_l, digits_shown(litres_rest_on, detail)),
        findings=findings,
        cautions=cautions,
        assumed=assumed,
        question=asked.model_copy(update={"question": box, "capacity_l": capacity_l}),
        drained_share=significant(change.drained_share),
        plans=tuple(sorted(_plans(change, drained_l), key=lambda plan: plan.old_share)),
        sources=sources_of((*findings, *cautions), base, *_sources_of_figures(change)),
    )
    if detail == "full":
        return full
    return shortened(full, DrainAnswer, findings=rule_notes(findings), cautions=caution_notes(cautions))


def _fluid(fluid: DrainFluid | Jug | None, base: KnowledgeBase) -> Fluid:
    return Fluid.of_jug(fluid.jug if isinstance(fluid, DrainFluid) else fluid, base)


def _litres(asked: DrainQuestion, of_box_l: float | None, base: KnowledgeBase) -> tuple[float | None, float | None]:
    """Capacity and litres drained in each round: as given, else the box's own, else what usually comes out of it."""
    capacity_l, drained_l = asked.capacity_l, asked.drained_l
    if capacity_l is None and of_box_l is not None:
        capacity_l = of_box_l
        if drained_l is not None and drained_l > of_box_l:
            raise MoreThanItHolds("/drained_l", of_box_l)
    if drained_l is None and capacity_l is not None:
        drained_l = capacity_l * base.limit("drained-share-usual")
    return capacity_l, drained_l


def _say(change: Change, needed_l: float | None, findings: tuple[Finding, ...]) -> str:
    """The rounds, the litres, and of what the findings warn of as much as can be read aloud."""
    litres = () if needed_l is None else (f"That takes about {digits(needed_l, 2)} litres of new fluid.",)
    warnings = (item.text for item in findings if item.effect == "cautions" and item.severity != "note")
    return spoken((change.target_text, *litres, *warnings))


def _plans(change: Change, drained_l: float | None) -> Iterator[DrainPlan]:
    """The rounds shown, and the same litres spent in one large drain or in more and smaller ones."""
    rounds, share = change.rounds_shown, change.drained_share
    yield _plan(rounds, share, drained_l, "As asked, with a run between the rounds.")
    if rounds > 1 and rounds * share <= 1:
        text = "One large drain of the same litres: leaves less, but only if that much can be brought out at once."
        yield _plan(1, rounds * share, None if drained_l is None else rounds * drained_l, text)
    for pieces in PIECES:
        text = "The same litres in smaller drains with a run between: leaves more of the old fluid."
        yield _plan(rounds * pieces, share / pieces, None if drained_l is None else drained_l / pieces, text)


def _plan(rounds: int, share: float, drained_l: float | None, text: str) -> DrainPlan:
    return DrainPlan(
        rounds=rounds,
        drained_share=significant(share),
        drained_l=None if drained_l is None else significant(drained_l),
        litres_used=None if drained_l is None else significant(rounds * drained_l),
        old_share=significant(share_left(drained_share=min(share, 1.0), rounds=rounds)),
        text=text,
    )


def _sources_of_figures(change: Change) -> Iterator[str]:
    """Where the formulas and tables behind the figures come from."""
    yield OUR_CHOICES
    if change.has_blend:
        yield from ("astm-d7152-23", "astm-d341-20", "astm-d2270-10", "sae-j306-201902")
