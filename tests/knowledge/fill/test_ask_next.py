"""The next question: in counter words, with a way to find out, and never in vain."""

from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knowledge.assemble import read_shop
from knowledge.box.question import FillQuestion, FlatFillQuestion, ServiceData
from knowledge.fill.compute import compute_fill_answer, judged_box
from knowledge.shop.shop import Shop
from tests.knowledge.law import law

MOST_QUESTIONS = 14


@pytest.fixture(scope="module")
def shop(base) -> Shop:
    """The shop of the demo data."""
    return read_shop(Path(__file__).parents[3] / "demo_data", base)


def merged(question: Any, patch: Any) -> Any:
    """RFC 7396, as its own pseudocode has it."""
    if not isinstance(patch, dict):
        return patch
    result = dict(question) if isinstance(question, dict) else {}
    for name, value in patch.items():
        if value is None:
            result.pop(name, None)
        else:
            result[name] = merged(result.get(name), value)
    return result


@law(20)
@given(data=st.data())
def test_answering_in_the_proposed_order_always_comes_to_an_end(data, partly_stated_questions, ask_short) -> None:
    question: dict[str, Any] = data.draw(st.just({}) | partly_stated_questions)
    for _ in range(MOST_QUESTIONS):
        answer = ask_short(**question)
        if answer.outcome != "depends":
            break
        reply = data.draw(st.sampled_from(answer.ask_next[0].answers))
        question = merged(question, reply.patch)
    assert ask_short(**question).outcome in ("settled", "none-suitable")


@law(25)
@given(data=st.data())
def test_a_reply_leads_where_it_was_said_to_lead(data, partly_stated_questions, ask_short, judge) -> None:
    question = data.draw(partly_stated_questions)
    judgement, answer = judge(**question), ask_short(**question)
    assert answer.ask_next or answer.outcome != "depends"
    assert {item.pointer for item in answer.ask_next} <= {pointer for pointer, _ in judgement.tried}
    for item in answer.ask_next:
        if item.pointer == "/sump_hot_c" and question["duty"] is None:
            continue  # a heat tried for one duty says nothing of the others, a heat that was read off does
        for reply in item.answers:
            after = judge(**merged(question, reply.patch))
            assert reply.then == (after.lubricants[after.order[0]].id if after.order else None)


@law(25)
@given(data=st.data())
def test_a_reply_s_link_asks_what_its_patch_asks(data, partly_stated_questions, ask_short) -> None:
    question = data.draw(partly_stated_questions)
    for item in ask_short(**question).ask_next:
        for reply in item.answers:
            after = FillQuestion.model_validate(merged(question, reply.patch))
            is_flat = len(after.rings or ()) <= 1 and after.service_data != ServiceData()
            assert (reply.query is not None) == is_flat
            if reply.query is not None:
                assert FlatFillQuestion.model_validate(dict(parse_qsl(reply.query))).question() == after


def test_a_reply_leaves_the_rest_of_the_rings_as_they_are(ask, box) -> None:
    rings = [{"gears": "1-2", "facing": "bronze", "cones": 2}, {"gears": "3-4", "cones": 1, "condition": "new"}]
    asked = ask(**box("bronze", rings=rings)).ask_next
    (condition,) = (item for item in asked if item.pointer == "/rings/0/condition")
    worn = next(reply for reply in condition.answers if reply.value == "worn")
    assert worn.patch == {"rings": [{**rings[0], "condition": "worn"}, rings[1]]}
    assert worn.query is None  # a link holds one set of rings


def test_a_reply_to_a_box_of_the_shop_leads_where_it_says(base, shop) -> None:
    for ref in shop.boxes:
        question = {"box_ref": ref}
        for item in compute_fill_answer(FillQuestion(box_ref=ref), base, shop, detail="full").ask_next:
            if item.pointer == "/sump_hot_c" and shop.boxes[ref].duty is None:
                continue  # a heat tried for one duty says nothing of the others
            for reply in item.answers:
                after = FillQuestion.model_validate(merged(question, reply.patch))
                judgement = judged_box(after, base, shop).judgement
                assert reply.then == (judgement.lubricants[judgement.order[0]].id if judgement.order else None)


def test_a_reply_has_the_type_of_its_field(ask) -> None:
    types = {item.pointer: {type(reply.value) for reply in item.answers} for item in ask().ask_next}
    assert types["/yellow_metal"] == types["/wet_clutch"] == {bool}
    assert types["/coldest_start_c"] == types["/sump_hot_c"] == {float}
    assert types["/rings"] == types["/duty"] == {str}


def test_every_question_can_be_found_out_and_has_replies(ask) -> None:
    asked = ask().ask_next
    assert len(asked) >= 8
    for item in asked:
        assert item.question.endswith("?")
        assert len(item.how_to_tell) > 40
        assert len(item.answers) > 1
        assert all(reply.words for reply in item.answers)
        assert len({reply.value for reply in item.answers}) == len(item.answers)


def test_the_empty_question_asks_for_the_rings_first(ask) -> None:
    asked = ask().ask_next
    assert asked[0].pointer == "/rings"
    assert {"none", "bronze", "paper"} <= {reply.value for reply in asked[0].answers}


def test_numbers_are_offered_in_rising_order(ask) -> None:
    offered = [[float(reply.value) for reply in item.answers] for item in ask().ask_next if item.pointer.endswith("_c")]
    assert len(offered) == 2
    assert all(numbers == sorted(numbers) for numbers in offered)


def test_what_is_known_is_not_asked_again(ask, box) -> None:
    answer = ask(**box("bronze", duty=None, sump_hot_c=None, coldest_start_c=None))
    assert {item.pointer for item in answer.worlds.over} == {"/duty", "/sump_hot_c", "/coldest_start_c"}
    assert {item.pointer for item in answer.ask_next} <= {"/duty", "/sump_hot_c", "/coldest_start_c"}


def test_an_unknown_facing_of_a_second_ring_set_is_asked_where_it_stands(ask, box) -> None:
    rings = [{"facing": "bronze", "condition": "new"}, {"facing": None, "condition": "new"}]
    answer = ask(**box("bronze", rings=rings))
    assert "/rings/1/facing" in {item.pointer for item in answer.ask_next}


def test_denying_yellow_metal_brings_no_bronze_back(ask, box) -> None:
    rings = [{"facing": None, "body": "steel", "cones": 1, "condition": "new"}]
    answer = ask(**box("molybdenum", rings=rings, yellow_metal=False))
    tried = next(item.values for item in answer.worlds.over if item.pointer == "/rings/0/facing")
    assert not {"bronze", "sintered"} & set(tried)


@pytest.mark.parametrize("pointer", ["/final_drive", "/limited_slip"])
def test_finding_out_sends_nobody_under_a_vehicle(ask, pointer) -> None:
    advice = " ".join(item.how_to_tell for item in ask().ask_next if item.pointer == pointer).lower()
    assert advice
    assert "under the vehicle" not in advice
    assert "jack" not in advice


def test_a_reply_after_which_mostly_nothing_fits_says_so(ask) -> None:
    (asked,) = [item for item in ask().ask_next if item.pointer == "/final_drive"]
    replies = {reply.value: reply for reply in asked.answers}
    assert replies["none"].served == 1
    assert 0 < replies["hypoid"].served < 0.5
