"""Many questions in one request: each gets what it gets by itself, and a bad one leaves the others alone."""

import json
from collections.abc import AsyncIterator, Sequence
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.app import create_app
from api.openapi import question_examples
from api.settings import DEMO, MAX_BODY_BYTES, Settings

PATH = "/v1/fill/batch"
JSON = {"Content-Type": "application/json"}
LINES = {"Content-Type": "application/x-ndjson"}
DEMO_QUESTIONS = {name: example["value"] for name, example in question_examples(DEMO, "fill").items()}
STATED = DEMO_QUESTIONS["01-bronze-street"]
BAD = {
    "broken": b'{"rings": ]',
    "no-object": b"[3]",
    "null": b"null",
    "nan": b'{"coldest_start_c": NaN}',
    "infinite": b'{"coldest_start_c": 1e999}',
    "not-utf-8": b'{"duty": "\xff"}',
    "byte-order-mark": b"\xef\xbb\xbf{}",
    "half-a-character": rb'{"duty": "\ud800"}',
    "name-twice": b'{"duty": "street", "duty": "street"}',
    "nested-too-deeply": b"[" * 5000 + b"]" * 5000,
    "unknown-field": b'{"rings": [{"facin": "paper"}]}',
    "unknown-id": b'{"rings": [{"facing": "papr"}]}',
    "out-of-range": b'{"coldest_start_c": 51}',
    "too-long": b'{"duty": "' + b"a" * MAX_BODY_BYTES + b'"}',
    "too-long-blank": b" " * MAX_BODY_BYTES + b"{}",
}


def alone(client, question: bytes) -> tuple[int, dict]:
    """Status and content that a question gets by itself."""
    response = client.post("/v1/fill", content=question, headers=JSON)
    return response.status_code, without_instance(response.json())


def without_instance(content: dict) -> dict:
    """A problem without the id of its request; an answer as it is."""
    return {name: value for name, value in content.items() if name != "instance"}


def results(text: str) -> list[dict]:
    """The results in an NDJSON answer; each ends its line."""
    assert not text or text.endswith("\n")
    return [json.loads(line) for line in text.splitlines()]


def content(result: dict) -> tuple[int, dict]:
    """Status and content of a result, which has either an answer or a problem."""
    name = "answer" if result["status"] == 200 else "problem"
    assert list(result) == ["index", "status", name]
    return result["status"], without_instance(result[name])


def test_each_demo_question_gets_the_answer_that_it_gets_alone(client) -> None:
    questions = [json.dumps(question).encode() for question in DEMO_QUESTIONS.values()]
    expected = [alone(client, question) for question in questions]
    in_lines = results(client.post(PATH, content=b"\n".join(questions), headers=LINES).text)
    as_json = client.post(PATH, json={"questions": list(DEMO_QUESTIONS.values())}).json()
    assert [content(result) for result in in_lines] == expected
    assert as_json["results"] == in_lines
    assert [result["index"] for result in in_lines] == list(range(len(questions)))
    assert {status for status, _ in expected} == {200}


@pytest.mark.parametrize("bad", BAD.values(), ids=BAD)
def test_a_bad_question_gets_its_problem_and_leaves_the_others_alone(client, bad: bytes) -> None:
    good = json.dumps(STATED).encode()
    expected = [alone(client, question) for question in (good, bad, good)]
    assert [status for status, _ in expected][::2] == [200, 200]
    assert expected[1][0] in (400, 413, 422)
    in_lines = results(client.post(PATH, content=b"\n".join((good, bad, good)), headers=LINES).text)
    as_json = client.post(PATH, content=b'{"questions": [%b,%b,%b]}' % (good, bad, good), headers=JSON)
    assert [content(result) for result in in_lines] == expected
    if bad not in (BAD["broken"], BAD["too-long-blank"]):
        assert [content(result) for result in as_json.json()["results"]] == expected


def test_a_question_that_is_too_long_even_without_its_end_is_one_result(client) -> None:
    body = b"[" * (3 * MAX_BODY_BYTES) + b'\n{"no": 1}'
    told = results(client.post(PATH, content=body, headers=LINES).text)
    assert [(result["index"], result["status"]) for result in told] == [(0, 413), (1, 422)]


def test_a_fault_of_ours_in_one_question_leaves_the_others_alone(client, base, caplog) -> None:
    faulty = type(client)(create_app(Settings(), replace(base, facings={**base.facings, "paper": None})))
    questions = [{"rings": [{"facing": facing, "body": "steel"}]} for facing in ("molybdenum", "paper", "molybdenum")]
    response = faulty.post(PATH, json={"questions": questions})
    told = response.json()["results"]
    assert [result["status"] for result in told] == [200, 500, 200]
    assert told[1]["problem"]["type"] == "/problems/internal"
    (fault,) = (record for record in caplog.records if record.levelname == "ERROR")
    assert fault.fields["request_id"] == response.headers["request-id"]


def test_blank_lines_have_no_result_but_count(client) -> None:
    told = results(client.post(PATH, content=b'\n{"no": 1}\r\n \t\r\n{"no": 2}\n\n', headers=LINES).text)
    assert [result["index"] for result in told] == [1, 3]


@pytest.mark.parametrize("body", [b"", b"\n", b" \r\n\n"])
def test_no_lines_are_no_results(client, body: bytes) -> None:
    response = client.post(PATH, content=body, headers=LINES)
    assert (response.status_code, response.content) == (200, b"")
    assert response.headers["content-type"] == "application/x-ndjson"


def test_an_empty_list_has_no_results(client, base) -> None:
    response = client.post(PATH, json={"questions": []})
    assert response.json() == {"knowledge": base.stamp.model_dump(), "results": []}
    assert response.headers["content-type"] == "application/json"
    assert response.headers["cache-control"] == "no-store"


@settings(max_examples=25, deadline=None)
@given(cuts=st.lists(st.integers(0, 200), max_size=12))
def test_the_results_are_the_same_wherever_the_body_is_cut(client, cuts: Sequence[int]) -> None:
    body = '{"no": 1}\n\n{"duty": "strasse für alle"}\r\n{"coldest_start_c": 99}\n{"rings": ]\n{"no": 2}'.encode()
    places = sorted({0, *(cut for cut in cuts if cut < len(body)), len(body)})

    async def pieces() -> AsyncIterator[bytes]:
        for start, end in pairwise(places):
            yield body[start:end]

    told = results(client.post(PATH, content=pieces(), headers=LINES).text)
    whole = results(client.post(PATH, content=body, headers=LINES).text)
    assert [(result["index"], content(result)) for result in told] == [
        (result["index"], content(result)) for result in whole
    ]
    assert [result["index"] for result in told] == [0, 2, 3, 4, 5]


def test_five_hundred_questions_are_taken_and_one_more_is_refused(client, assert_problem) -> None:
    cheap = {"no": 1}
    assert len(client.post(PATH, json={"questions": [cheap] * 500}).json()["results"]) == 500
    told = assert_problem(client.post(PATH, json={"questions": [cheap] * 501}), 413, "batch-too-large")
    assert "500 questions" in told["detail"]
    assert "application/x-ndjson" in told["detail"]
    in_lines = client.post(PATH, content=b'{"no": 1}\n' * 501, headers=LINES)
    assert len(results(in_lines.text)) == 501


def test_a_list_with_too_many_bytes_is_refused(client, assert_problem) -> None:
    large = [{"in_it_now": {"name": "a" * 20_000}}] * 101
    assert "bytes" in assert_problem(client.post(PATH, json={"questions": large}), 413, "batch-too-large")["detail"]


@pytest.mark.parametrize("content_type", ["", "text/plain", "application/x-ndjson; charset=utf-16", "text/csv"])
def test_a_batch_sent_as_anything_else_is_told_both_names(client, assert_problem, content_type: str) -> None:
    headers = {"Content-Type": content_type} if content_type else {}
    told = assert_problem(client.post(PATH, content=b"{}", headers=headers), 415, "unsupported-media-type")
    assert "application/json" in told["detail"]
    assert "application/x-ndjson" in told["detail"]


@pytest.mark.parametrize(
    ("body", "status", "slug", "pointer"),
    [
        (b"", 400, "malformed-json", ""),
        (b'{"questions": [}', 400, "malformed-json", ""),
        (b'{"questions": [{},]}', 400, "malformed-json", ""),
        (b'{"questions": [], "questions": []}', 400, "malformed-json", ""),
        (b"[]", 422, "invalid-request", ""),
        (b"{}", 422, "invalid-request", "/questions"),
        (b'{"questions": {}}', 422, "invalid-request", "/questions"),
        (b'{"questions": [], "question": 1}', 422, "invalid-request", "/question"),
    ],
)
def test_a_body_that_is_no_batch_is_told_where(client, assert_problem, body, status, slug, pointer) -> None:
    error = assert_problem(client.post(PATH, content=body, headers=JSON), status, slug)["errors"][0]
    assert (error["location"], error["pointer"]) == ("body", pointer)


@pytest.mark.parametrize("method", ["GET", "HEAD", "PUT"])
def test_a_batch_is_only_posted(client, method: str) -> None:
    response = client.request(method, PATH)
    assert response.status_code == 405
    assert response.headers["allow"] == "OPTIONS, POST"


def test_the_document_says_how_many_questions_a_list_may_hold(client) -> None:
    schema = client.get("/openapi.json").json()["components"]["schemas"]["FillBatch"]
    assert schema["properties"]["questions"]["maxItems"] == 500


def test_both_media_types_are_told_in_the_document(client) -> None:
    post = client.get("/openapi.json").json()["paths"][PATH]["post"]
    assert post["operationId"] == "fill_batch"
    assert LINES["Content-Type"] in post["description"]
    example = post["requestBody"]["content"]["application/json"]["examples"]["several-boxes"]["value"]
    assert {result["status"] for result in client.post(PATH, json=example).json()["results"]} == {200}


@pytest.mark.parametrize(("first", "pointer"), [('"x": 1, ', "/x"), ('"question": [], ', "/question")])
def test_a_batch_with_a_field_too_many_is_told_of_that_field_alone(client, assert_problem, first, pointer) -> None:
    body = "{" + first + '"questions": [{"cones": 1}, 0]}'
    response = client.post("/v1/fill/batch", content=body, headers={"Content-Type": "application/json"})
    assert [error["pointer"] for error in assert_problem(response, 422, "invalid-request")["errors"]] == [pointer]


def test_a_batch_of_too_many_is_too_large_whatever_else_is_wrong_with_it(client, assert_problem) -> None:
    body = '{"x": 1, "questions": [' + "{}," * 500 + "{}]}"
    response = client.post("/v1/fill/batch", content=body, headers={"Content-Type": "application/json"})
    assert_problem(response, 413, "batch-too-large")
