"""Whatever is wrong with a question is told in a sentence of its own, at the field, with what is allowed."""

from collections.abc import Iterator
from typing import Any, get_args

import pytest
from pydantic import BaseModel, ValidationError
from pydantic_core.core_schema import ErrorType

from api.wording import CODES, SENTENCES, allowed_range, mistakes, pointer
from knowledge.box.question import FillQuestion, FlatFillQuestion
from knowledge.drain.question import DrainQuestion
from knowledge.fill.firmness import FirmnessQuestion
from knowledge.jug.question import JugQuestion
from knowledge.parts.request_model import LONGEST_ID
from knowledge.parts.units import unit_of
from knowledge.rings.shift_question import FlatShiftQuestion, ShiftQuestion
from knowledge.stock.question import StockQuestion
from knowledge.symptom.question import SymptomQuestion
from knowledge.viscosity import ViscosityQuestion

ROUTES = {
    "fill": FillQuestion,
    "jug": JugQuestion,
    "drain": DrainQuestion,
    "symptom": SymptomQuestion,
    "shift": ShiftQuestion,
    "fill/firmness": FirmnessQuestion,
}
POSTED = (*ROUTES.values(), StockQuestion)
LINKED = (FlatFillQuestion, FlatShiftQuestion, ViscosityQuestion)
WRONG = (
    *(True, "", " ", "20", "nan", "9" * 5000, "x" * 500, "\ud800", b"\xff", -1, 0, 2.5, 10**30, 1e308, -1e308),
    *(float("inf"), None, [], [None], [[]], [1] * 60, {}, {"": 0}, [{}] * 60, object()),
)
# Fields that contradict each other; each is told at one of them.
CONTRADICTIONS = (
    (JugQuestion, {"kv40_mm2_s": 10, "kv100_mm2_s": 90}, "/kv100_mm2_s"),
    (ViscosityQuestion, {"kv40_mm2_s": 10, "kv100_mm2_s": 90}, "/kv100_mm2_s"),
    (FlatFillQuestion, {"facing": "none", "body": "steel"}, "/body"),
    (DrainQuestion, {"capacity_l": 1, "drained_l": 2}, "/drained_l"),
    (
        ShiftQuestion,
        {"inertia_kg_m2": 0.01, "speed_difference_rpm": 1500, "cones": 3, "mean_radius_mm": [32, 29]},
        "/mean_radius_mm",
    ),
)
OWN_OF_THE_ROUTES = {"repeated_parameter"}

Place = tuple[str | int, ...]


def places(schema: dict[str, Any], named: dict[str, Any]) -> Iterator[Place]:
    """Every place in a question, the first entry of a list standing for all."""
    if "$ref" in schema:
        yield from places(named[schema["$ref"].rpartition("/")[2]], named)
    for other in schema.get("anyOf", ()):
        yield from places(other, named)
    inner = {**schema.get("properties", {}), **({0: schema["items"]} if "items" in schema else {})}
    for step, below in inner.items():
        yield (step,)
        yield from ((step, *rest) for rest in places(below, named))


def question_with(value: Any, place: Place) -> Any:
    """A question that holds a value at a place, and nothing else."""
    for step in reversed(place):
        value = [value] if step == 0 else {step: value}
    return value


def errors_of(model: type[BaseModel], question: Any) -> list[Any]:
    """What pydantic has to say of a question, read as the routes read it and as the terminal does."""
    found = []
    for from_attributes in (True, False):
        try:
            model.model_validate(question, from_attributes=from_attributes)
        except ValidationError as error:
            found += error.errors(include_url=False, include_input=False)
    return found


def wrong_questions(model: type[BaseModel]) -> Iterator[tuple[Place, Any]]:
    """Questions with something wrong at one place, and that place."""
    schema = model.model_json_schema()
    for place in ((), *places(schema, schema.get("$defs", {}))):
        yield from ((place, question_with(value, place)) for value in WRONG)
        yield (*place, "mistyped"), question_with({"mistyped": 1}, place)


@pytest.mark.parametrize("model", [*POSTED, *LINKED], ids=lambda model: model.__name__)
def test_each_error_that_a_question_can_raise_has_a_sentence_at_its_field(model: type[BaseModel]) -> None:
    for place, question in wrong_questions(model):
        for error in errors_of(model, question):
            (mistake,) = mistakes([error], model)
            assert mistake.code in CODES, error
            assert mistake.code != "invalid_value", error
            assert error["msg"] not in mistake.detail
            assert mistake.detail.startswith(("Must ", "This field is needed.", "There is no ", "Leave "))
            assert "{" not in mistake.detail.replace("{} is a question", "")
            shared = min(len(mistake.pointer), len(pointer(place)))
            assert mistake.code == "missing" or mistake.pointer[:shared] == pointer(place)[:shared]


@pytest.mark.parametrize("route", ROUTES)
def test_every_id_of_a_question_is_refused_with_the_known_ones(client, assert_problem, route: str) -> None:
    schema = ROUTES[route].model_json_schema()
    load = {"inertia_kg_m2": 0.01, "speed_difference_rpm": 1500} if route == "shift" else {}
    checked = 0
    for place in places(schema, schema.get("$defs", {})):
        long = errors_of(ROUTES[route], question_with("x" * (LONGEST_ID + 1), place))
        if any(error.get("ctx") == {"max_length": LONGEST_ID} for error in long):
            response = client.post(f"/v1/{route}", json={**load, **question_with("Not_An Id", place)})
            (error,) = assert_problem(response, 422, "unknown-id")["errors"]
            assert error["pointer"] == pointer(place)
            assert error["known"]
            checked += 1
    assert checked >= 2


@pytest.mark.parametrize(("model", "question", "at"), CONTRADICTIONS)
def test_a_contradiction_is_told_at_one_of_its_fields(
    model: type[BaseModel], question: dict[str, Any], at: str
) -> None:
    found = list(mistakes(errors_of(model, question), model))
    assert {mistake.pointer for mistake in found} == {at}
    assert all(mistake.code in CODES for mistake in found)


def test_no_sentence_is_for_an_error_that_nothing_raises() -> None:
    wrong = [(model, question) for model in (*POSTED, *LINKED) for _, question in wrong_questions(model)]
    wrong += [(model, question) for model, question, _ in CONTRADICTIONS]
    raised = {error["type"] for model, question in wrong for error in errors_of(model, question)}
    assert set(SENTENCES) - raised - OWN_OF_THE_ROUTES == set()


# The only codes of ours that happen to be names of pydantic's too.
SHARED_NAMES = {"missing", "too_long"}


def test_whatever_the_validator_may_find_gets_a_code_of_ours() -> None:
    """Its own list of all that it can find: each gets a code that is explained, and none its own name."""
    for found in get_args(ErrorType):
        context = {"max_length": 60, "expected": "'street'"}
        (mistake,) = mistakes([{"type": found, "loc": ("duty",), "ctx": context}], FillQuestion)
        assert CODES[mistake.code]["means"].endswith(".")
        assert mistake.code not in set(get_args(ErrorType)) - SHARED_NAMES


@pytest.mark.parametrize("model", [*POSTED, *LINKED], ids=lambda model: model.__name__)
def test_a_number_with_a_unit_in_its_name_is_told_with_range_and_unit(model: type[BaseModel]) -> None:
    schema = model.model_json_schema()
    for place in places(schema, schema.get("$defs", {})):
        told = allowed_range(model, place)
        name = next(step for step in reversed(place) if isinstance(step, str))
        if told:
            assert " up to " in told
            assert told.startswith(("from ", "above "))
            assert unit_of(name) == "1" or told.endswith(f" {unit_of(name)}")
