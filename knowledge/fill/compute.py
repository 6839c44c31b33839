"""What do I fill it with? One question and the knowledge in, one answer out."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import fields
from functools import lru_cache
from itertools import chain

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.box.worlds import Worlds
from knowledge.citing import answer_id, sources_of
from knowledge.drain.leftover import leftover
from knowledge.drain.leftover_answer import FullLeftover
from knowledge.fill.answer import Candidate, CandidateFigures, FillAnswer, TriedField, UnderstoodQuestion
from knowledge.fill.answer import Worlds as WorldsTried
from knowledge.fill.ask_next import ask_next, safest
from knowledge.fill.service_data import compare
from knowledge.fluids.data_sheet import Sheet
from knowledge.fluids.possible_lubricants import possible_oils
from knowledge.ids import check_ids
from knowledge.judging.cautions import cautions_of
from knowledge.judging.judge import judge, provable
from knowledge.judging.judged import Judged
from knowledge.judging.rank import has_one_leader, ranked
from knowledge.judging.window import window
from knowledge.judging.wording import summary
from knowledge.jug.compute import judged_jugs
from knowledge.jug.judged_jug import JudgedJug
from knowledge.parts.jug import Jug, Label
from knowledge.parts.provenance import Assumption, Figure, Finding
from knowledge.shop.models import FromBox
from knowledge.shop.shop import NO_SHOP, Shop, filled_in
from knowledge.text import plain, value_text

NOTHING_STATED = FillQuestion()

SHOWN = frozenset(field.name for field in fields(CandidateFigures))


def fill_answer(asked: FillQuestion, base: KnowledgeBase, shop: Shop = NO_SHOP) -> FillAnswer:
    """The answer to a fill question; `shop` is where its box and its shelf are looked up.

    The last answers are kept, since a box is asked about again when it is printed, drawn or talked over; and so is,
    whatever else is asked, the answer where nothing is stated: most dialogues begin there, and none takes longer.

    Errors: UnknownIds, when the question names an id that the knowledge or the shop does not have.
    """
    answered = answer_to_nothing_stated if asked == NOTHING_STATED else answer_asked_lately
    return answered(asked, base, shop)


def worked_out(asked: FillQuestion, base: KnowledgeBase, shop: Shop = NO_SHOP) -> FillAnswer:
    """The answer to a fill question, whether or not it is one of those that are kept."""
    check_ids(asked, base, shop.boxes)
    question, from_box = filled_in(asked, shop)
    worlds = Worlds.of(question, base)
    question = worlds.question
    judged = judge(worlds, base.lubricants)
    order, leading = ranked(judged, worlds)
    # No reply changes what the service data names, where no class stands for it.
    is_settled = not worlds.named.is_listed or has_one_leader(judged, worlds)
    outcome = "none-suitable" if not order else "settled" if is_settled else "depends"
    service_data = compare(question.service_data, judged if worlds.named.is_listed else _of_book(worlds), worlds)
    questions = ask_next(judged, worlds) if worlds.named.is_listed else ()
    of_proof = () if order else provable(judged)
    safest_id, safest_reason = safest(order, worlds, is_provable=bool(of_proof))
    cautions = cautions_of(worlds, base)
    asked_for = window(leading, worlds, is_in_conflict=service_data.status == "conflicts", provable=of_proof)
    on_hand = (*question.on_hand, *(shop.shelf.values() if question.use_shelf else ()))
    jugs = judged_jugs(on_hand, asked_for.kv100_mm2_s, worlds)
    left = _leftover(question, order, from_box, worlds)
    return FillAnswer(
        knowledge=base.stamp,
        answer_id=answer_id("fill", asked, base.digest, *shop.used_by(asked)),
        question=UnderstoodQuestion.model_construct(
            **{name: getattr(question, name) for name in FillQuestion.model_fields},
            assumed=tuple(_assumptions(question, worlds)),
            from_box=from_box,
        ),
        outcome=outcome,
        summary=summary(outcome, order, questions, service_data, worlds, is_provable=bool(of_proof)),
        service_data=service_data,
        window=asked_for,
        worlds=WorldsTried(
            tried=worlds.count,
            over=tuple(
                TriedField(pointer=field.pointer, values=tuple(value_text(part.value) for part in field.parts))
                for field in worlds.unknown
            ),
        ),
        candidates=tuple(_candidates(judged, order, worlds)),
        cautions=cautions,
        ask_next=questions,
        safest_if_unanswered=safest_id,
        safest_reason=safest_reason,
        jugs=jugs,
        leftover=left,
        sources=sources_of((*cautions, *_citing(judged, jugs, left)), base),
    )


answer_to_nothing_stated = lru_cache(maxsize=2)(worked_out)

answer_asked_lately = lru_cache(maxsize=16)(worked_out)


def _candidates(judged: Sequence[Judged], order: Sequence[Judged], worlds: Worlds) -> Iterator[Candidate]:
    refused = [item for item in judged if not item.serves]
    for rank, item in enumerate((*order, *refused), start=1):
        oil = item.oil
        yield Candidate(
            lubricant=oil.lubricant_name,
            verdict=item.verdict(worlds.every),
            rank=rank if item.serves else None,
            share_of_worlds=item.serves.bit_count() / worlds.count,
            figures=CandidateFigures(**{one.name: one for one in _figures(item) if one.name in SHOWN}),
            findings=item.findings,
        )


def _figures(item: Judged) -> Iterable[Figure]:
    return chain.from_iterable([finding.figures for finding in item.findings])


def _assumptions(question: FillQuestion, worlds: Worlds) -> Iterator[Assumption]:
    for part in ("bearing", "mesh", "ring_geometry"):
        given = getattr(question, part)
        for row in worlds.base.defaults:
            if row.part == part and (given is None or getattr(given, row.quantity) is None):
                unit = "" if row.unit == "1" else f" {row.unit}"
                yield Assumption(
                    pointer=f"/{part}/{row.quantity}",
                    value=f"{plain(row.value)}{unit}",
                    standing=row.standing,
                    reason="Not given; a usual size.",
                )
    if question.yellow_metal is False:
        parts = {text for part in worlds.parts("copper_parts") for text in part.value}
        if parts:
            yield Assumption(
                pointer="/yellow_metal",
                value="yes",
                standing="judgement",
                reason=f"You said there is none, but the {' or '.join(sorted(parts))} are yellow metal.",
            )
    for index, ring in enumerate(question.rings or ()):
        made_of = ring.facing and worlds.base.facings[ring.facing].body
        if made_of and ring.body not in (None, made_of):
            yield Assumption(
                pointer=f"/rings/{index}/body",
                value=made_of,
                standing="judgement",
                reason=f"You said {ring.body}, but a {ring.facing} ring is made of its facing.",
            )
    if None not in (question.sump_hot_c, question.coldest_start_c) and question.sump_hot_c < question.coldest_start_c:
        yield Assumption(
            pointer="/sump_hot_c",
            value=f"{plain(question.sump_hot_c)} °C",
            standing="judgement",
            reason=f"You said that it starts no colder than {plain(question.coldest_start_c)} °C, which is hotter than "
            "the hottest oil: taken as you said, but look again.",
        )
    if question.limited_slip and question.final_drive == "none":
        yield Assumption(
            pointer="/limited_slip",
            value="yes",
            standing="judgement",
            reason="A limited-slip clutch pack sits in a final drive, and you said there is none: taken as you said.",
        )


def _of_book(worlds: Worlds) -> tuple[Judged, ...]:
    """What the service data names at a grade of no class, judged as a jug with that label would be."""
    service_data = worlds.question.service_data
    if worlds.named.family is None:
        return ()
    label = Label(family=service_data.family, grade=service_data.grade)
    return judge(worlds, possible_oils(Sheet.of(Jug(label=label), worlds.base), worlds.base))


def _leftover(
    question: FillQuestion, order: Sequence[Judged], from_box: FromBox | None, worlds: Worlds
) -> FullLeftover | None:
    """What stays of the fluid that is in the box, changed to the class that leads; None where nothing is said of it."""
    if question.in_it_now is None:
        return None
    capacity_l = from_box.capacity_l if from_box else None
    new = order[0].oil if order and worlds.named.is_listed else None
    return leftover(question.in_it_now, new, capacity_l, question, worlds.base, "full")


def _citing(judged: Sequence[Judged], jugs: Sequence[JudgedJug], left: FullLeftover | None) -> Iterator[Finding]:
    """What the sources are read off: whatever a rule says of a class, it cites the same."""
    for same_rule in zip(*(item.findings for item in judged)):
        yield next((finding for finding in same_rule if finding.sources), same_rule[0])
    for jug in jugs:
        yield from (*jug.findings, *jug.label_findings)
    yield from left.findings if left else ()
