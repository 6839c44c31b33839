"""How often must it be drained, and what does a top-up do? What is left, and the mixture on the way."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import compress
from typing import Any

import numpy as np

from knowledge.base import KnowledgeBase
from knowledge.box.cases import Cases
from knowledge.box.facts import FACTS, pointers
from knowledge.box.question import FillQuestion
from knowledge.citing import answer_id, sources_of
from knowledge.drain.answer import DrainAnswer, FullDrainAnswer, FullLeftover, Leftover
from knowledge.drain.change import SHARE_DIGITS, Change
from knowledge.drain.mixing import Fluid
from knowledge.drain.question import DrainFluid, DrainQuestion
from knowledge.drain.rules import LEFTOVER_RULES
from knowledge.drain.top_up import TopUp
from knowledge.errors import MoreThanItHolds
from knowledge.ids import with_ids
from knowledge.judging.cautions import cautions_of, every_fill
from knowledge.judging.condition import only_if
from knowledge.lubricant import Lubricant
from knowledge.parts.digits import rounded
from knowledge.parts.jug import Jug
from knowledge.parts.notes import caution_notes, messages_of, rule_notes, shortened
from knowledge.parts.provenance import EFFECTS_FROM_WORST, SEVERITIES_FROM_WORST, Finding
from knowledge.parts.request_model import Detail
from knowledge.rule import Rule, RuleOutcome
from knowledge.shop.models import FromBox
from knowledge.shop.shop import NO_SHOP, Shop, filled_in
from knowledge.text import Said, digits, in_a_row, spoken

# Where a drain question says what the rules read of a change.
POINTERS: Mapping[str, tuple[str, ...]] = {
    "old_family": ("/old",),
    "old_is_limited_slip": ("/old",),
    "new_family": ("/new",),
    "left_share": ("/drained_l", "/rounds"),
    "has_blend": ("/old", "/new"),
}

OF_A_TOP_UP: Mapping[str, tuple[str, ...]] = {
    **POINTERS,
    "old_family": ("/new",),
    "old_is_limited_slip": ("/new",),
    "new_family": ("/old",),
    "left_share": ("/capacity_l", "/top_up_l"),
}

IN_IT_NOW = dict.fromkeys(POINTERS, ("/in_it_now",))

# What it warns of is the question itself in a top-up, and is not so where both are of one kind.
ANOTHER_KIND = "leftover-fluid"
WITHOUT_A_BOX = frozenset({ANOTHER_KIND})


def compute_drain_answer(
    asked: DrainQuestion, base: KnowledgeBase, shop: Shop = NO_SHOP, detail: Detail = "short"
) -> DrainAnswer:
    """The answer to a question about draining or a top-up, in full a `FullDrainAnswer`; `shop` has its box.

    Raises UnknownIds when the question names an id that neither the knowledge nor the shop has, and MoreThanItHolds
    when more is drained or added than the box of the shop holds.
    """
    asked = with_ids(asked, base, shop.ids)
    box, from_box = filled_in(asked.question, shop) if asked.question else (None, None)
    capacity_l, top_up_l = _capacity(asked, from_box), asked.top_up_l
    drained_l = asked.drained_l or (capacity_l and capacity_l * base.limit("drained-share-usual"))
    in_it = _fluid(asked.old or (box.in_it_now if box else None), base)
    poured = _fluid(asked.new, base)
    old, new = (in_it, poured) if top_up_l is None else (poured, in_it)
    added_share = round(top_up_l / capacity_l, SHARE_DIGITS) if top_up_l and capacity_l else None
    change = Change.of(
        old,
        new,
        box or FillQuestion(),
        base,
        added_share=1.0 if top_up_l and added_share is None else added_share,
        drained_share=drained_l / capacity_l if capacity_l and drained_l else None,
        is_share_given=None not in (asked.drained_l, capacity_l),
        target_old_share=asked.target_old_share,
        rounds=asked.rounds,
    )
    top_up = None if top_up_l is None else TopUp.of(change.mixing, poured, in_it, top_up_l, added_share)
    # Of a top-up of which nobody knows what share it is, nothing can be computed.
    is_share_known = top_up_l is None or added_share is not None
    count = change.rounds_to_target if is_share_known else None
    needed_l = None if count is None or drained_l is None else count * drained_l
    placed = POINTERS if top_up is None else OF_A_TOP_UP
    findings = tuple(_findings(change, box or FillQuestion(), base, placed, "/question")) if is_share_known else ()
    cautions, every = cautions_of(Cases.of(box, base) if box else None, base, WITHOUT_A_BOX), every_fill(base)
    idle = {*every.ids, *([ANOTHER_KIND] if top_up is not None or change.mixing.is_same_kind else [])}
    cautions = tuple(item for item in cautions if item.id not in idle)
    of_mixture = ("astm-d7152-23", "astm-d341-20", "astm-d2270-10", "sae-j306-201902") if change.has_blend else ()
    rest_on = "computed" if detail == "full" else change.standings.get("/drained_l", "computed")
    said: dict[str, Any] = {
        "summary": top_up.headline if top_up else change.headline,
        "say": spoken(_said(change, top_up, needed_l, findings)),
        "job_card": top_up.job_card if top_up else None,
        "findings": findings,
        "cautions": cautions,
        "assumed": change.assumed,
    }
    full = FullDrainAnswer(
        knowledge=base.stamp,
        answer_id=answer_id("drain", asked, base.digest, *(shop.used_by(asked.question) if asked.question else ())),
        **said,
        added_share=rounded(added_share, most=4 if detail == "full" else 3),
        harmless=top_up.harmless if top_up else None,
        target_old_share=change.target_old_share,
        rounds=change.rounds(drained_l, base, detail) if is_share_known else (),
        rounds_to_target=count,
        litres_to_target=rounded(needed_l, rest_on),
        every_job=every.ids,
        every_job_words=every.words,
        question=asked.model_copy(update={"question": box, "capacity_l": capacity_l}),
        drained_share=rounded(change.drained_share),
        messages=tuple(messages_of(said)),
        sources=sources_of((*findings, *cautions), base, *{row.source for row in change.mixing.rows}, *of_mixture),
    )
    if detail == "full":
        return full
    return shortened(
        full,
        DrainAnswer,
        findings=rule_notes(findings),
        cautions=caution_notes(tuple(item for item in cautions if item.only_if is None)),
    )


def _capacity(asked: DrainQuestion, from_box: FromBox | None) -> float | None:
    """What the box holds, as it was said or as the shop has it; raises MoreThanItHolds."""
    if asked.capacity_l is not None or from_box is None or from_box.capacity_l is None:
        return asked.capacity_l
    for pointer, litres in (("/drained_l", asked.drained_l), ("/top_up_l", asked.top_up_l)):
        if litres is not None and litres > from_box.capacity_l:
            raise MoreThanItHolds(pointer, from_box.capacity_l)
    return from_box.capacity_l


def _said(change: Change, top_up: TopUp | None, needed_l: float | None, findings: tuple[Finding, ...]) -> Iterator[str]:
    """What is read aloud, what matters most first."""
    if top_up is not None:
        yield top_up.headline
        if top_up.harmless is not None and top_up.advice:
            yield top_up.advice
        return
    yield change.headline
    yield from filter(None, (change.after,))
    if needed_l is not None:
        litres = digits(needed_l, 2)
        yield Said(f"That takes about {litres} litres of new fluid.", "litres-of-new-fluid", litres=float(litres))
    yield from (item.text for item in findings if item.effect == "cautions" and item.severity != "note")


def leftover(
    jug: Jug,
    new: Lubricant | None,
    capacity_l: float | None,
    question: FillQuestion,
    base: KnowledgeBase,
    detail: Detail = "short",
) -> Leftover:
    """What stays of the fluid that is in a box, when it is changed to another class; in full a `FullLeftover`."""
    change = Change.of(Fluid.of_jug(jug, base), Fluid.of_class(new) if new else Fluid(), question, base)
    rounds = change.rounds(None if capacity_l is None else capacity_l * change.drained_share, base, detail)
    full = FullLeftover(
        text=in_a_row(filter(None, (change.headline, change.after))),
        new=new.id if new else None,
        target_old_share=change.target_old_share,
        rounds_to_target=change.rounds_to_target,
        old_share_after=rounds[-1].old_share,
        rounds=rounds,
        findings=tuple(_findings(change, question, base, IN_IT_NOW, "")),
        assumed=change.assumed,
    )
    return full if detail == "full" else shortened(full, Leftover, findings=rule_notes(full.findings))


def _fluid(fluid: DrainFluid | Jug | None, base: KnowledgeBase) -> Fluid:
    return Fluid.of_jug(fluid.jug if isinstance(fluid, DrainFluid) else fluid, base)


def _findings(
    change: Change, question: FillQuestion, base: KnowledgeBase, placed: Mapping[str, tuple[str, ...]], box: str
) -> Iterator[Finding]:
    """What the rules say of a change; the worst outcome of each rule that is concerned in some case of the box.

    `placed` are pointers to what a rule reads of the change, `box` stands before the pointers into the box.
    """
    cases, facts = Cases.of(question, base), change.facts
    for rule in LEFTOVER_RULES:
        known = {name: facts[name] for name in rule.reads if name not in FACTS}
        of_box = [name for name in rule.reads if name in FACTS]
        found = _worst(rule, known, of_box[0], cases) if of_box else (rule.judge(**known), None, 1.0)
        if found is None or not found[0].is_concerned:
            continue
        outcome, condition, share = found
        of_change = (pointer for name in rule.reads for pointer in placed.get(name, ()))
        in_box = (f"{box}{pointer}" for name in of_box for pointer in pointers(name, len(question.rings or ())))
        limits = (change.may_stay,) if "may_stay" in rule.reads else ()
        finding = rule.finding(outcome._replace(limits=limits), tuple(dict.fromkeys((*of_change, *in_box))))
        yield replace(finding, only_if=condition, share_of_worlds=share)


def _worst(
    rule: Rule, known: Mapping[str, Any], fact: str, cases: Cases
) -> tuple[RuleOutcome, str | None, float] | None:
    """The worst outcome over the values of a fact of the box, when it holds, and in which share of the cases.

    None where the rule is nowhere concerned.
    """
    axis, values, value_of = cases.fact(fact)
    outcomes = [rule.judge(**known, **{fact: value}) for value in values]
    if axis is None or not any(outcome.is_concerned for outcome in outcomes):
        return None
    effect = min((outcome.effect for outcome in outcomes), key=EFFECTS_FROM_WORST.index)
    biting = [outcome.effect == effect and outcome.is_concerned for outcome in outcomes]
    along, weights = np.array(biting)[value_of], cases.axes[axis].weights
    worst = min(compress(outcomes, biting), key=lambda outcome: SEVERITIES_FROM_WORST.index(outcome.severity))
    condition = None if along.all() else only_if({axis: along}, FACTS[fact].reads, cases)
    return worst, condition, float(weights[along].sum() / weights.sum())
