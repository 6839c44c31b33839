"""A link holds a question whole, or says that it cannot."""

from urllib.parse import parse_qsl

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knowledge.box.question import FillQuestion, FlatFillQuestion, link_query
from tests.knowledge.law import law

pytestmark = pytest.mark.filterwarnings("ignore:Generating overly large repr")  # of the knowledge base


def read(query: str) -> FillQuestion:
    """The question that a link puts."""
    given = parse_qsl(query, keep_blank_values=True)
    several = {"other_facing": [value for name, value in given if name == "other_facing"]}
    return FlatFillQuestion.model_validate({**dict(given), **several}).question()


@law(60)
@given(data=st.data(), note=st.none() | st.text(max_size=20), degrees=st.floats(-50, 50))
def test_a_link_reads_back_as_the_question_it_was_made_of(data, note, degrees, partly_stated_questions) -> None:
    fields = data.draw(partly_stated_questions) | {"coldest_start_c": degrees, "use_shelf": data.draw(st.booleans())}
    if note is not None:
        fields["service_data"] = {**(fields["service_data"] or {}), "note": note}
    question = FillQuestion.model_validate(fields)
    query = link_query(question)
    is_open_service_data = question.service_data is not None and not any(
        value is not None for _, value in question.service_data
    )
    more_than_facings = any(
        value is not None for ring in (question.rings or ())[1:] for name, value in ring if name != "facing"
    )
    no_facing = any(ring.facing is None for ring in (question.rings or ())[1:])
    assert (query is None) == (more_than_facings or no_facing or is_open_service_data)
    if query is not None:
        assert read(query) == question


@pytest.mark.parametrize(
    "more",
    [
        {"rings": [{"facing": "paper"}, {"facing": "bronze", "cones": 2}]},
        {"rings": [{"facing": "paper"}, {"facing": "bronze", "gears": "1-2"}]},
        {"rings": [{"facing": "paper"}, {}]},
        {"rings": [{"gears": "1-2", "facing": "paper"}]},
        {"rings": [{}]},
        {"service_data": {}},
        {"in_it_now": {"name": "red"}},
        {"on_hand": [{"name": "red"}]},
        {"bearing": {"pitch_diameter_mm": 55.0, "speed_rpm": 2500.0}},
        {"ring_geometry": {}},
    ],
)
def test_what_no_link_can_hold_has_none(more) -> None:
    assert link_query(FillQuestion.model_validate({"duty": "street", **more})) is None


def test_two_gears_sintered_and_the_others_bronze_fit_a_link() -> None:
    question = FillQuestion.model_validate({"rings": [{"facing": "bronze", "cones": 1}, {"facing": "sintered"}]})
    assert link_query(question) == "facing=bronze&cones=1&other_facing=sintered"
    assert read(link_query(question)) == question
    only_others = FillQuestion.model_validate({"rings": [{}, {"facing": "paper"}, {"facing": "carbon"}]})
    assert link_query(only_others) == "other_facing=paper&other_facing=carbon"
    assert read(link_query(only_others)) == only_others


def test_a_link_reads_as_people_write_it() -> None:
    question = FillQuestion.model_validate(
        {
            "rings": [{"facing": "paper", "cones": 2}],
            "yellow_metal": True,
            "coldest_start_c": -20.0,
            "service_data": {"grade": "75W-80", "note": "book, page 12"},
        }
    )
    told = (
        "facing=paper&cones=2&yellow_metal=true&coldest_start_c=-20&service_grade=75W-80&service_note=book%2C+page+12"
    )
    assert link_query(question) == told
    assert link_query(FillQuestion(rings=())) == "facing=none"
    assert link_query(FillQuestion()) == ""
    assert link_query(question, {"rings": [], "duty": "street"}).startswith("facing=none&yellow_metal=true")
