"""What to ask: what each reply leads to, how much it settles, and in which order, counted over every case."""

from collections import Counter
from itertools import pairwise

import pytest

from knowledge.loading.custom_rows import BoxKindRow
from tests.knowledge.every_case import TOLD_BY_KIND, every_case, kind_shares
from tests.knowledge.leads import CONFLICT, NOTHING, Lead, lead_over, leader_of, twins_of

pytestmark = pytest.mark.filterwarnings("ignore:Generating overly large repr")  # of the knowledge base


@pytest.fixture(scope="module")
def open_questions(asked_every_way, base):
    """Of each question that depends: what it is, its lead, what is asked, and of each field the replies.

    Of a reply: its value, its weight, who leads with it, and the weight within it of the cases that nothing leads.
    """
    found = []
    for question, judgement, cases in asked_every_way:
        leaders = [leader_of(case, question["box_kind"], base) for case in cases]
        whole = lead_over(cases, leaders, base)
        if whole.outcome != "depends":
            assert judgement.questions() == ()
            continue
        replies = {
            field.pointer: [_reply(field.pointer, value, cases, leaders, base) for value in field.values]
            for _, field in judgement.cases.open
        }
        found.append((question, whole, judgement.questions(), replies))
    return found


def _reply(pointer, value, cases, leaders, base):
    pairs = [pair for pair in zip(cases, leaders, strict=True) if pair[0].replies[pointer] == value]
    weight = sum(case.weight for case, _ in pairs)
    unled = sum(case.weight for case, leader in pairs if leader in (NOTHING, CONFLICT)) / weight
    return value, weight, lead_over(*zip(*pairs, strict=True), base), unled


def is_other(whole: Lead, other: Lead, base) -> bool:
    """Whether another class leads that is no twin, or none, or it is settled."""
    if whole.outcome != other.outcome or not whole.best or not other.best:
        return whole.outcome != other.outcome or bool(whole.best) != bool(other.best)
    return not any(place in other.best for one in whole.best for place in twins_of(one, base))


def settles(whole: Lead, replies, base) -> float:
    """The weight of the cases that the leader does not lead, which the replies are expected to bring to one leader."""
    found = 0.0
    for _, weight, lead, unled in replies:
        if not lead.best:
            found += weight * unled
        elif not any(place in lead.best for one in whole.best for place in twins_of(one, base)):
            found += weight * lead.share
    return found


def test_each_reply_leads_to_what_leads_its_cases_and_settles_their_weight(open_questions, base) -> None:
    asked_of = Counter()
    for question, whole, asked, replies in open_questions:
        for one in asked:
            if one.pointer in replies:
                asked_of[one.name] += 1
                counted = replies[one.pointer]
                assert [reply.value for reply in one.replies] == [value for value, *_ in counted]
                for reply, (_, _, lead, _) in zip(one.replies, counted, strict=True):
                    assert reply.leader in lead.best or (reply.leader is None and not lead.best), question
                assert one.settles == pytest.approx(settles(whole, counted, base)), question
    assert len(asked_of) > 3


def test_asked_is_what_changes_the_leader_or_settles_it_and_of_rings_only_where_there_are_some(
    open_questions, base
) -> None:
    for question, whole, asked, replies in open_questions:
        wanted = {
            pointer
            for pointer, counted in replies.items()
            if (question["rings"] is not None or not pointer.startswith("/rings/"))
            and any(is_other(whole, lead, base) for _, _, lead, _ in counted)
        }
        assert {one.pointer for one in asked} - {"/box_kind", "/service_data/family"} == wanted, question


def test_what_settles_more_for_callers_who_can_tell_at_less_effort_is_asked_first(open_questions, base) -> None:
    for _, _, asked, _ in open_questions:
        gains = []
        for one in asked:
            row = base.unknowns[one.name]
            gains.append(one.settles * row.answerable_percent / (row.effort + 0.2))
        assert all(first >= second - 1e-9 for first, second in pairwise(gains))


def test_a_kind_of_box_leads_to_what_it_leads_to_once_it_is_stated(open_questions, base, judge) -> None:
    tried = 0
    for question, whole, asked, replies in open_questions:
        for one in asked:
            if one.name != "box_kind":
                continue
            # Of a box with rings, no kind without any.
            told = [
                (TOLD_BY_KIND.get(pointer.rsplit("/", 1)[1], "facing_percent"), [value for value, *_ in counted])
                for pointer, counted in replies.items()
                if pointer.rsplit("/", 1)[1] in (*TOLD_BY_KIND, "rings")
            ]
            counted = []
            for reply in one.replies:
                cases = every_case(question | {"box_kind": reply.value}, base, judge)
                leaders = [leader_of(case, reply.value, base) for case in cases]
                lead = lead_over(cases, leaders, base)
                rows = base.by_id(BoxKindRow)
                shares = {
                    id: share
                    for id, share in kind_shares(question, base).items()
                    if all(any(getattr(rows[id], column).get(value) for value in met) for column, met in told)
                }
                within = (share for id, share in shares.items() if reply.value in (id, rows[id].layout))
                weight = sum(within) / sum(shares.values())
                unled = sum(
                    case.weight for case, leader in zip(cases, leaders, strict=True) if leader in (NOTHING, CONFLICT)
                )
                counted.append((reply.value, weight, lead, unled))
                assert reply.leader in lead.best or (reply.leader is None and not lead.best), (question, reply)
                tried += 1
            assert sum(weight for _, weight, *_ in counted) == pytest.approx(1)
            assert one.settles == pytest.approx(settles(whole, counted, base)), question
    assert tried > 10


def test_what_the_book_may_name_leads_to_what_leads_once_it_is_named(open_questions, base, judge) -> None:
    for question, _, asked, _ in open_questions:
        for one in asked:
            if one.name == "service_data":
                for reply in one.replies:
                    named = judge(**question | {"service_data": {"family": reply.value}})
                    assert reply.leader == named.leader, (question, reply.value, named.lead.outcome)


def test_the_book_of_rings_that_were_changed_is_not_asked_for(open_questions) -> None:
    for question, _, asked, _ in open_questions:
        changed = any(ring.get("replaced") for ring in question["rings"] or ())
        if question["service_data"] is None:
            assert ("service_data" in {one.name for one in asked}) != changed


def test_nothing_that_nobody_can_answer_is_asked(open_questions, judge) -> None:
    for question, _, asked, _ in open_questions:
        for one in asked:
            left = judge(**question | {"unanswerable": [one.pointer]}).questions()
            assert left == tuple(other for other in asked if other.pointer != one.pointer)


def test_of_a_box_of_which_nothing_is_known_its_kind_is_asked_first_and_then_its_book(judge) -> None:
    assert [one.name for one in judge().questions()][:2] == ["box_kind", "service_data"]
    assert not [one for one in judge().questions() if one.pointer.startswith("/rings/")]
