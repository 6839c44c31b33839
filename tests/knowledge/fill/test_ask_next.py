"""The next question: in counter words, with a way to find out, and never in vain."""

import pytest

from tests.bench.dialogues import merged

PAPER_AND_GL_5 = {"rings": [{"facing": "paper", "cones": 2}], "service_data": {"family": "gl-5", "grade": "75W-90"}}


def test_cannot_say_fits_into_a_question_that_is_full_of_what_nobody_knows(ask_short) -> None:
    parts = ("facing", "body", "cones", "condition", "replaced")
    full = {"unanswerable": [f"/rings/{place}/{part}" for place in range(4) for part in parts]}
    asked = ask_short(**full).ask_next[0]
    assert ask_short(**merged(full, asked.answers[-1].patch)).outcome == "depends"


def test_a_reply_leaves_the_rest_of_the_rings_as_they_are(ask, box) -> None:
    rings = [{"gears": "1-2", "facing": "bronze", "cones": 2}, {"gears": "3-4", "cones": 1, "condition": "new"}]
    asked = ask(**box("bronze", rings=rings, coldest_start_c=-30.0)).ask_next
    for reply in (reply for item in asked for reply in item.answers if "rings" in reply.patch):
        kept = [{name: ring[name] for name in given} for ring, given in zip(reply.patch["rings"], rings, strict=True)]
        assert kept == rings
        assert reply.query is None  # a link names no gears


def test_every_question_can_be_found_out_and_has_replies(ask) -> None:
    asked = ask().ask_next
    assert [item.pointer for item in asked[:2]] == ["/box_kind", "/service_data/family"]
    for item in asked:
        assert item.question.endswith("?")
        assert len(item.how_to_tell) > 40
        assert item.answers[-1].value is None
        assert item.answers[-1].words == "can't say"
        assert item.answers[-1].patch == {"unanswerable": [item.pointer]}
        assert 2 < len(item.answers) <= 7
        assert len({str(reply.value) for reply in item.answers}) == len(item.answers)


def test_the_sump_is_never_asked_and_what_is_known_is_not_asked_again(ask, box) -> None:
    answer = ask(**box("bronze", duty=None, sump_hot_c=None, coldest_start_c=None))
    assert {item.pointer for item in answer.ask_next} <= {"/duty", "/coldest_start_c", "/service_data/family"}
    assert "/sump_hot_c" not in {item.pointer for item in ask().ask_next}


def test_denying_yellow_metal_brings_no_bronze_back(ask, box) -> None:
    rings = [{"facing": None, "body": "steel", "cones": 1, "condition": "new"}]
    answer = ask(**box("molybdenum", rings=rings, yellow_metal=False))
    tried = next(item.values for item in answer.worlds.over if item.pointer == "/rings/0/facing")
    assert not {"bronze", "sintered"} & set(tried)


@pytest.mark.parametrize("name", ["final_drive", "limited_slip"])
def test_finding_out_sends_nobody_under_a_vehicle(base, name) -> None:
    advice = base.unknowns[name].how_to_tell.lower()
    assert "under the vehicle" not in advice
    assert "jack" not in advice


def test_a_conflict_asks_whether_the_rings_were_changed(ask_short) -> None:
    """Common practice, no source: lined rings in a box whose book names axle oil were most likely put in later."""
    answer = ask_short(**PAPER_AND_GL_5)
    assert answer.outcome == "conflict"
    (asked,) = answer.ask_next
    assert asked.pointer == "/rings/0/replaced"
    assert [reply.value for reply in asked.answers] == [True, False, None]
    assert asked.answers[0].then == "mtf-75w-80"
    assert asked.answers[1].then == "gl-5-75w-90"
    assert ask_short(**merged(PAPER_AND_GL_5, asked.answers[-1].patch)).ask_next == ()
