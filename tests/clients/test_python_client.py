"""A typed client that a well-known generator makes of the OpenAPI document speaks with the real server."""

import json
import subprocess
import sys
from collections.abc import Iterator
from importlib import import_module
from io import BytesIO
from pathlib import Path
from types import ModuleType
from typing import Any

import httpx
import pytest

from api.settings import DEMO

CONFIG = Path(__file__).with_name("python_client.yml")
PACKAGE = "fillwright_client"
ASKED = {"fill": "fill", "jug": "jug", "drain": "drain", "symptom": "complaint", "shift": "shift"}
DEMOS = [json.loads(path.read_text(encoding="utf-8")) for path in sorted((DEMO / "questions").glob("*.json"))]


@pytest.fixture(scope="module")
def package(live_server: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The name of the generated package, which can be imported; a warning of the generator is a failure."""
    folder = tmp_path_factory.mktemp("generated")
    document = folder / "openapi.json"
    document.write_bytes(httpx.get(f"{live_server}/openapi.json", timeout=60).content)
    given = ("--path", str(document), "--config", str(CONFIG))
    shape = ("--meta", "none", "--output-path", str(folder / PACKAGE), "--fail-on-warning")
    command = [sys.executable, "-m", "openapi_python_client", "generate", *given, *shape]
    made = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (made.returncode, "arning" in made.stdout + made.stderr) == (0, False), made.stdout + made.stderr
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(folder)
        yield PACKAGE


@pytest.fixture
def shop_tool(package: str, live_server: str) -> Iterator[Any]:
    """The client itself, as a shop tool would hold it."""
    with import_module(package).Client(base_url=live_server, timeout=60) as client:
        yield client


def operation(package: str, tag: str, name: str) -> ModuleType:
    """The module of one operation."""
    return import_module(f"{package}.api.{tag}.{name}")


def body_of(package: str, ask: str, question: Any) -> Any:
    """A question as its typed object."""
    return getattr(import_module(f"{package}.models"), f"{ask.capitalize()}Question").from_dict(question)


@pytest.mark.parametrize("demo", DEMOS, ids=lambda demo: demo["title"])
def test_a_typed_answer_holds_all_that_was_sent(package: str, shop_tool: Any, live_server: str, demo: Any) -> None:
    ask, question = demo["ask"], demo["question"]
    typed = operation(package, ask, ASKED[ask]).sync(client=shop_tool, body=body_of(package, ask, question))
    assert type(typed).__name__ == f"{ask.capitalize()}Answer"
    assert typed.to_dict() == httpx.post(f"{live_server}/v1/{ask}", json=question, timeout=60).json()


def test_an_answer_is_read_by_its_names(package: str, shop_tool: Any) -> None:
    models = import_module(f"{package}.models")
    ring = models.Ring(facing="paper", body="steel", condition=models.Condition.NEW)
    box = models.FillQuestion(rings=[ring], final_drive=models.FinalDrive.NONE, coldest_start_c=-15, duty="street")
    answer = operation(package, "fill", "fill").sync(client=shop_tool, body=box)
    assert isinstance(answer, models.FillAnswer)
    assert answer.leader.verdict in (models.Verdict.FITS, models.Verdict.FITS_WITH_CARE)
    assert answer.window.on_the_label
    whole = operation(package, "fill", "fill").sync(client=shop_tool, body=box, detail=models.Detail.FULL)
    assert isinstance(whole, models.FullFillAnswer)
    assert whole.question.rings[0].condition is models.Condition.NEW
    assert next(item for item in whole.candidates if item.rank == 1).lubricant.id == answer.leader.lubricant.id


MOST_QUESTIONS = 12
STARTS = ({}, {"rings": []}, {"rings": [{"facing": "paper"}]}, {"box_kind": "front-drive"}, {"final_drive": "hypoid"})


@pytest.mark.parametrize("place", [0, -1], ids=["first-reply", "cannot-say"])
@pytest.mark.parametrize("start", STARTS, ids=str)
def test_a_dialogue_comes_to_its_end_in_typed_objects(package: str, shop_tool: Any, start: Any, place: int) -> None:
    """Each reply's patch merged as RFC 7396 says, and checked against the link that the reply gives."""
    question, asked = dict(start), []
    for _ in range(MOST_QUESTIONS):
        answer = operation(package, "fill", "fill").sync(client=shop_tool, body=body_of(package, "fill", question))
        if not answer.ask_next or answer.leader is None:
            break
        asked.append((answer.ask_next[0].pointer, *(reply.words for reply in answer.ask_next[0].answers)))
        reply = answer.ask_next[0].answers[place]
        question |= reply.patch.to_dict()
        linked = shop_tool.get_httpx_client().get(f"/v1/fill?{reply.query}").json()
        posted = shop_tool.get_httpx_client().post("/v1/fill", json=question, timeout=60).json()
        assert linked == posted
    else:
        raise AssertionError(f"it goes on asking: {asked}")
    assert len(asked) == len(set(asked))


def test_lines_are_sent_and_read_as_typed_objects(package: str, shop_tool: Any) -> None:
    models, types = import_module(f"{package}.models"), import_module(f"{package}.types")
    asked = [models.BatchQuestion(key=key, duty=duty) for key, duty in (("a", "street"), ("b", "stret"))]
    lines = "".join(f"{json.dumps(question.to_dict())}\n" for question in asked).encode()
    request = operation(package, "fill", "fill_batch")._get_kwargs(body=types.File(payload=BytesIO(lines)))
    sent = shop_tool.get_httpx_client().request(**request | {"content": lines})
    first, second = (models.BatchResult.from_dict(json.loads(line)) for line in sent.text.splitlines())
    assert (first.key, first.status, second.key, second.status) == ("a", 200, "b", 422)
    assert isinstance(first.answer, models.FillAnswer)
    assert second.problem.errors[0].did_you_mean == "street"


def test_a_problem_is_typed_too(package: str, shop_tool: Any) -> None:
    models = import_module(f"{package}.models")
    told = operation(package, "fill", "fill").sync_detailed(client=shop_tool, body=models.FillQuestion(duty="stret"))
    assert told.status_code == 422
    assert isinstance(told.parsed, models.Problem)
    (error,) = told.parsed.errors
    assert (error.pointer, error.did_you_mean, "towing" in error.known) == ("/duty", "street", True)


def test_every_get_has_its_typed_answer(package: str, shop_tool: Any, live_server: str) -> None:
    paths = httpx.get(f"{live_server}/openapi.json", timeout=60).json()["paths"]
    for path, get in ((path, methods["get"]) for path, methods in paths.items() if "get" in methods):
        needed = [item for item in get.get("parameters", ()) if item["required"]]
        given = {item["name"]: item["schema"]["examples"][0] for item in needed}
        typed = operation(package, get["tags"][0], get["operationId"]).sync(**given, client=shop_tool)
        asked = {item["name"]: given[item["name"]] for item in needed if item["in"] == "query"}
        sent = httpx.get(f"{live_server}{path.format(**given)}", params=asked, timeout=60)
        assert (typed == sent.text) if isinstance(typed, str) else (typed.to_dict() == sent.json()), path
