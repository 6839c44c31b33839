"""No answer contradicts itself; `python -m tests.bench.sweep --questions 5000` asks more."""

import pytest
from hypothesis import given

from tests.golden.everyday_fills import EVERYDAY
from tests.knowledge.fill.boxes import questions
from tests.knowledge.fill.contradictions import contradictions
from tests.knowledge.law import law

PLAIN = {"rings": [{"facing": "bronze"}], "final_drive": "none", "duty": "street", "coldest_start_c": 5}
SPOILT = (
    {"outcome": "conflict"},
    {"say": "word " * 41},
    {"unless": ["GL-4 serves as such"]},
    {"cautions": [{"text": "No GL-4: it eats the bronze."}]},
    {"summary": "Fill GL-4."},
    {"refused": [{"text": "Too thick.", "lubricants": ["gl-4-75w-90"]}]},
    {"leader": None},
    {
        "ask_next": [{"pointer": "/duty", "question": "", "how_to_tell": "", "answers": [{"value": None, "words": ""}]}]
        * 4
    },
    {"safest_if_unanswered": {"lubricant": {"id": "gl-5-75w-90"}, "because": "", "unless": []}},
    {"say": "Fill GL-4 75W-90. GL-5 75W-90 will do."},
    {"say": "Fill GL-4 75W-90. No MTF: it slips."},
    {"unless": ["it is used for towing: then MTF 75W-90"]},
    {"service_data": {"status": "conflicts", "text": "The book agrees."}},
)
ANSWERED = [pytest.param(case["ask"], id=id) for id, case in EVERYDAY.items() if "offers" not in case]


@pytest.mark.parametrize("question", ANSWERED)
def test_no_everyday_answer_contradicts_itself(question, ask_wire) -> None:
    assert list(contradictions(ask_wire(question), ask_wire(question, detail="full"))) == []


def test_no_answer_contradicts_itself(base, ask_wire) -> None:
    @law(30)
    @given(question=questions(base))
    def holds(question) -> None:
        assert list(contradictions(ask_wire(question), ask_wire(question, detail="full"))) == []

    holds()


@pytest.mark.parametrize("spoilt", SPOILT, ids=lambda one: next(iter(one)))
def test_a_spoilt_answer_is_noticed(spoilt, ask_wire) -> None:
    short, full = ask_wire(PLAIN), ask_wire(PLAIN, detail="full")
    assert set(contradictions(short | spoilt, full)) - set(contradictions(short, full))
