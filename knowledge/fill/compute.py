"""What do I fill it with? One question and the knowledge in, one answer out."""

from collections.abc import Iterable, Sequence
from dataclasses import fields, replace
from typing import Any, NamedTuple, TypeVar

from knowledge.base import KnowledgeBase
from knowledge.box.circumstances import knows_nothing
from knowledge.box.question import FillQuestion, link_query
from knowledge.citing import answer_id, sources_of
from knowledge.drain.answer import Leftover
from knowledge.drain.compute import leftover
from knowledge.drain.upkeep import upkeep_of_box
from knowledge.fill.answer import (
    CasesTried,
    FillAnswer,
    FullFillAnswer,
    Leader,
    LubricantAnswer,
    SharedFinding,
    TriedField,
    UnderstoodQuestion,
)
from knowledge.fill.ask_next import ask_next, questions_of
from knowledge.fill.assumed import assumptions
from knowledge.fill.classes import candidate_of, fitting, leader_of, others_of, refused_of, safest_of
from knowledge.fill.conflict import way_out
from knowledge.fill.open_cases import unless
from knowledge.fill.service_data import compare
from knowledge.fill.words import outcome_of, say, summary
from knowledge.ids import with_ids
from knowledge.judging.cautions import every_fill, not_against, of_this_box
from knowledge.judging.judgement import Judgement
from knowledge.judging.rules import RULES
from knowledge.judging.window import window
from knowledge.jug.answer import JudgedJug
from knowledge.jug.compute import at_hand, judged_jugs
from knowledge.jug.judged_sheet import JudgedSheet
from knowledge.lubricant import Lubricant
from knowledge.parts.notes import messages_of
from knowledge.parts.provenance import Caution, Finding
from knowledge.parts.request_model import Detail
from knowledge.shop.models import FromBox
from knowledge.shop.shop import NO_SHOP, Shop, filled_in
from knowledge.text import Said, value_text

# Of a box of which nothing is known one question more is worth its length.
MOST_ASKED, MOST_ASKED_OF_A_NEW_BOX = 2, 3
MOST_CAUTIONS = 5
LEADS = ("settled", "depends")

# The parts of an answer whose sentences have a code each.
WITH_CODES = (
    "summary", "say", "service_data", "leader", "others", "refused", "window", "cautions", "unless",
    "safest_if_unanswered", "way_out", "leftover",
)  # fmt: skip
FIRST_CLEAR_UP = Said("First clear up what goes into this box.", "first-clear-up-what-goes-in")
SHARED = tuple(field.name for field in fields(SharedFinding))

AnyJug = TypeVar("AnyJug", bound=JudgedJug)


class _Shared:
    """What is held against classes and jugs, each once, in the order in which it is first met."""

    def __init__(self) -> None:
        self.findings: dict[SharedFinding, int] = {}
        self._met: dict[int, tuple[int, Finding]] = {}

    def places(self, against: Iterable[Finding]) -> tuple[int, ...]:
        """The places of some among them."""
        return tuple([self._place(one) for one in against])

    def _place(self, one: Finding) -> int:
        # What classes share is one object; it is kept, so that no other gets its identity.
        if id(one) not in self._met:
            shared = SharedFinding(**{name: getattr(one, name) for name in SHARED})
            self._met[id(one)] = self.findings.setdefault(shared, len(self.findings)), one
        return self._met[id(one)][0]


class JudgedBox(NamedTuple):
    """A question whose ids are known, its box judged, and what a box of the shop filled in."""

    asked: FillQuestion
    judgement: Judgement
    from_box: FromBox | None
    answer_id: str


def compute_fill_answer(
    question: FillQuestion, base: KnowledgeBase, shop: Shop = NO_SHOP, detail: Detail = "short"
) -> FillAnswer:
    """The answer to a fill question, in full a `FullFillAnswer`; its box and its shelf are looked up in `shop`.

    Errors: UnknownIds, when the question names an id that the knowledge or the shop does not have.
    """
    box = judged_box(question, base, shop)
    question, judgement, is_full = box.asked, box.judgement, detail == "full"
    outcome = outcome_of(judgement)
    leads = outcome in LEADS
    questions = questions_of(outcome, judgement)
    leader = leader_of(judgement) if leads else None
    told = fitting(judgement) if leads else ()
    jug_window = window(judgement, told) if leads and judgement.named.is_listed else None
    query = link_query(question)
    on_hand = (*question.on_hand, *(shop.shelf.values() if question.use_shelf else ()))
    every = every_fill(base)
    most_asked = MOST_ASKED_OF_A_NEW_BOX if knows_nothing(question) else MOST_ASKED
    sheets = at_hand(on_hand, judgement)
    jugs = judged_jugs(sheets, detail)
    left = _leftover(box, detail)
    cautions = _cautions(judgement, leader, left, with_possible=is_full)
    short: dict[str, Any] = {
        "knowledge": base.stamp,
        "answer_id": box.answer_id,
        "outcome": outcome,
        "summary": summary(outcome, judgement, questions),
        "say": say(
            outcome,
            judgement,
            questions,
            [index for index in told if index != judgement.leader and index not in judgement.alike],
            leader,
            left,
        ),
        "service_data": compare(judgement),
        "leader": leader,
        "others": others_of(judgement) if leads else (),
        "refused": refused_of(judgement),
        "window": jug_window,
        "cautions": of_this_box(cautions, base, None if is_full else MOST_CAUTIONS),
        "every_fill": every.ids,
        "every_fill_words": every.words,
        "ask_next": ask_next(questions if is_full else questions[:most_asked], question, judgement),
        "unless": unless(judgement) if leads else (),
        "safest_if_unanswered": safest_of(judgement) if leads else None,
        "way_out": way_out(outcome, judgement),
        "jugs": jugs if leads else tuple(map(_kept_back, jugs)),
        "leftover": left,
        "full": None if query is None else f"/v1/fill?{query}&detail=full" if query else "/v1/fill?detail=full",
    }
    if not is_full:
        return FillAnswer.model_construct(**short)
    return FullFillAnswer.model_construct(**_with_all_behind(box, sheets, cautions, short))


def _cautions(
    judgement: Judgement, leader: Leader | None, left: Leftover | None, *, with_possible: bool
) -> tuple[Caution, ...]:
    """The cautions of the box, but for those against the fluid that leads, and of what does not arise.

    That is the cold where no shift is slow, and what stays of the old fluid where that is of the same kind.
    """
    family = None if leader is None else leader.lubricant.family
    cautions = not_against((family,), judgement.cautions(with_possible=with_possible), judgement.base)
    if left and left.rounds_to_target == 1:
        cautions = tuple(one for one in cautions if judgement.base.cautions[one.id].when != ("leftover-fluid",))
    has_rings = judgement.question.rings != ()
    if has_rings and leader is not None and (leader.first_shifts is None or leader.first_shifts.step != "free"):
        return cautions
    return tuple(item for item in cautions if "cold-start" not in judgement.base.cautions[item.id].when)


def compute_lubricant_answer(
    id: str, question: FillQuestion, base: KnowledgeBase, shop: Shop = NO_SHOP
) -> LubricantAnswer:
    """One class explained for one box; `id` is one of `base.lubricant_rows`.

    Errors: UnknownIds, when the question names an id that the knowledge or the shop does not have.
    """
    judgement = judged_box(question, base, shop).judgement
    index = next(index for index, one in enumerate(judgement.lubricants) if one.id == id)
    candidate, findings = candidate_of(judgement, index, outcome_of(judgement) in LEADS), judgement.findings(index)
    return LubricantAnswer.model_construct(
        knowledge=base.stamp,
        lubricant=candidate.lubricant,
        verdict=candidate.verdict,
        rank=candidate.rank,
        share_of_worlds=candidate.share_of_worlds,
        figures=candidate.figures,
        findings=findings,
        sources=sources_of(findings, base),
    )


def judged_box(asked: FillQuestion, base: KnowledgeBase, shop: Shop) -> JudgedBox:
    """The box of a question, judged.

    Errors: UnknownIds, when the question names an id that the knowledge or the shop does not have.
    """
    asked = with_ids(asked, base, shop.ids)
    question, from_box = filled_in(asked, shop)
    id = answer_id("fill", asked, base.digest, *shop.used_by(asked))
    return JudgedBox(asked, Judgement.of(question, base, region=shop.region), from_box, id)


def _with_all_behind(
    box: JudgedBox, sheets: Sequence[JudgedSheet], cautions: Iterable[Caution], short: dict[str, Any]
) -> dict[str, Any]:
    """The short answer with what the full one adds to it."""
    judgement = box.judgement
    in_order = set(judgement.order)
    refused = (index for index in range(len(judgement.lubricants)) if index not in in_order)
    shared, leads = _Shared(), short["outcome"] in LEADS
    candidates = tuple(
        [
            candidate_of(judgement, index, leads, shared.places(judgement.held_against(index)))
            for index in (*judgement.order, *refused)
        ]
    )
    jugs = tuple(
        [
            replace(jug, findings_at=shared.places(sheet.held_against)) if sheet.places else jug
            for jug, sheet in zip(short["jugs"], sheets, strict=True)
        ]
    )
    concerned = judgement.concerned | {rule for sheet in sheets for rule in sheet.concerned_beside(judgement)}
    citing = [*(RULES[rule] for rule in concerned), *(finding for jug in jugs for finding in jug.label_findings)]
    left, findings = short["leftover"], tuple(shared.findings)
    leader, assumed = _leading(judgement), tuple(assumptions(judgement))
    upkeep = leader and upkeep_of_box(leader, judgement.question, judgement.base)
    said = {name: short[name] for name in WITH_CODES}
    behind = {"question": {"assumed": assumed}, "findings": findings, "jugs": jugs, "upkeep": upkeep}
    return short | {
        "question": UnderstoodQuestion.model_construct(
            **{name: getattr(judgement.question, name) for name in FillQuestion.model_fields},
            assumed=assumed,
            from_box=box.from_box,
        ),
        "worlds": CasesTried(
            tried=judgement.count,
            over=tuple(
                TriedField(pointer=pointer, values=tuple(map(value_text, values)))
                for pointer, values in judgement.tried
            ),
        ),
        "candidates": candidates,
        "findings": findings,
        "jugs": jugs,
        "messages": tuple(messages_of(said | behind)),
        "upkeep": upkeep,
        "sources": sources_of((*cautions, *citing, *(left.findings if left else ())), judgement.base),
    }


def _kept_back(jug: AnyJug) -> AnyJug:
    """A jug where nothing leads: none is better than what has to be cleared up first."""
    if jug.verdict == "does-not-fit":
        return jug
    return replace(jug, verdict="depends", rank=None, because=FIRST_CLEAR_UP)


def _leftover(box: JudgedBox, detail: Detail) -> Leftover | None:
    """What stays of the fluid that is in the box, changed to the class that leads; None where nothing is said of it."""
    judgement, jug = box.judgement, box.judgement.question.in_it_now
    if jug is None:
        return None
    capacity_l = box.from_box.capacity_l if box.from_box else None
    return leftover(jug, _leading(judgement), capacity_l, judgement.question, judgement.base, detail)


def _leading(judgement: Judgement) -> Lubricant | None:
    """The class that leads; None where none does, or where the service data names one that is no class."""
    return None if judgement.leader is None else judgement.lubricants[judgement.leader]
