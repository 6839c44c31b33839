"""Many questions in one request: each gets what it gets by itself, and a bad one leaves the others alone."""

import asyncio
import json
from collections.abc import AsyncIterator, Awaitable, Callable, Sequence
from dataclasses import replace
from itertools import pairwise

import httpx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.app import create_app
from api.batch import READ_AHEAD_BYTES
from api.openapi import question_examples
from api.settings import DEMO, MAX_BODY_BYTES, Settings
from api.shop import Snapshot

PATH = "/v1/fill/batch"
JSON = {"Content-Type": "application/json"}
LINES = {"Content-Type": "application/x-ndjson"}
DEMO_QUESTIONS = {name: example["value"] for name, example in question_examples(DEMO, "fill").items()}
STATED = DEMO_QUESTIONS["01-bronze-street"]
# In a line of its own each is refused by itself; in a list these make the whole body no JSON.
NO_JSON = {
    "broken": b'{"rings": ]',
    "not-utf-8": b'{"duty": "\xff"}',
    "byte-order-mark": b"\xef\xbb\xbf{}",
    "half-a-character": rb'{"duty": "\ud800"}',
    "name-twice": b'{"duty": "street", "duty": "street"}',
    "nested-too-deeply": b"[" * 5000 + b"]" * 5000,
}
BAD = {
    "no-object": b"[3]",
    "infinite": b'{"coldest_start_c": 1e999}',
    "unknown-field": b'{"rings": [{"facin": "paper"}]}',
    "unknown-id": b'{"rings": [{"facing": "papr"}]}',
    "out-of-range": b'{"coldest_start_c": 51}',
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
    assert list(result) == ["index", "key", "status", name]
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


@pytest.mark.parametrize("bad", (NO_JSON | BAD).values(), ids=NO_JSON | BAD)
def test_a_bad_question_gets_its_problem_and_leaves_the_others_alone(client, bad: bytes) -> None:
    good = json.dumps(STATED).encode()
    expected = [alone(client, question) for question in (good, bad, good)]
    assert [status for status, _ in expected][::2] == [200, 200]
    assert expected[1][0] in (400, 422)
    in_lines = results(client.post(PATH, content=b"\n".join((good, bad, good)), headers=LINES).text)
    assert [content(result) for result in in_lines] == expected
    if bad in BAD.values():
        as_json = client.post(PATH, content=b'{"questions": [%b,%b,%b]}' % (good, bad, good), headers=JSON)
        assert [content(result) for result in as_json.json()["results"]] == expected


def test_what_is_no_number_in_an_item_leaves_the_others_of_its_list_alone(client) -> None:
    bad = b'{"questions": [{"no": 1}, {"coldest_start_c": NaN}, {"duty": Infinity}]}'
    told = client.post(PATH, content=bad, headers=JSON).json()["results"]
    assert [result["problem"]["errors"][0]["pointer"] for result in told] == ["/no", "/coldest_start_c", "/duty"]
    (alone,) = results(client.post(PATH, content=b'{"coldest_start_c": NaN}', headers=LINES).text)
    assert alone["status"] == 400


def test_the_key_of_an_item_comes_back_with_its_result(client) -> None:
    items = [{"key": "box 7", **STATED}, {"key": "b", "no": 1}, {"key": "k" * 101}, {"key": 3}, STATED]
    for told in (
        client.post(PATH, json={"questions": items}).json()["results"],
        results(client.post(PATH, content="\n".join(map(json.dumps, items)), headers=LINES).text),
    ):
        assert [(result["key"], result["status"]) for result in told] == [
            ("box 7", 200), ("b", 422), (None, 422), (None, 422), (None, 200),
        ]  # fmt: skip
        assert told[0]["answer"] == told[4]["answer"]
        assert [error["pointer"] for error in told[2]["problem"]["errors"]] == ["/key"]


def test_a_batch_may_ask_for_full_answers(client) -> None:
    alone = client.post("/v1/fill?detail=full", json=STATED).json()
    (told,) = client.post(f"{PATH}?detail=full", json={"questions": [STATED]}).json()["results"]
    assert told["answer"] == alone
    assert "candidates" in alone


@pytest.mark.parametrize("long", [b'{"duty": "' + b"a" * MAX_BODY_BYTES + b'"}', b"[" * (3 * MAX_BODY_BYTES)])
def test_a_line_that_is_too_long_is_one_result(client, long: bytes) -> None:
    told = results(client.post(PATH, content=long + b'\n{"no": 1}', headers=LINES).text)
    assert [(result["index"], result["status"]) for result in told] == [(0, 413), (1, 422)]


def test_a_fault_of_ours_in_one_question_leaves_the_others_alone(client, base, caplog) -> None:
    app = create_app(Settings(), base)
    shop = app.state.shop.now.shop
    app.state.shop.now = Snapshot(replace(shop, boxes={**shop.boxes, "broken": None}))
    questions = [{"box_ref": box} for box in ("bench-paper-5", "broken", "bench-paper-5")]
    response = type(client)(app).post(PATH, json={"questions": questions})
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
    assert "bytes" in assert_problem(client.post(PATH, json={"questions": large}), 413, "body-too-large")["detail"]


@pytest.mark.parametrize("content_type", ["", "text/plain", "application/x-ndjson; charset=utf-16", "text/csv"])
def test_a_batch_sent_as_anything_else_is_told_both_names(client, assert_problem, content_type: str) -> None:
    headers = {"Content-Type": content_type} if content_type else {}
    told = assert_problem(client.post(PATH, content=b"{}", headers=headers), 415, "unsupported-media-type")
    assert "application/json" in told["detail"]
    assert "application/x-ndjson" in told["detail"]


@pytest.mark.parametrize(
    ("body", "status", "slug", "pointer"),
    [
        (b'{"questions": [{},]}', 400, "malformed-json", ""),
        (b'{"questions": [], "questions": []}', 400, "malformed-json", ""),
        (b"[]", 422, "invalid-request", ""),
        (b"{}", 422, "invalid-request", "/questions"),
        (b'{"questions": {}}', 422, "invalid-request", "/questions"),
        (b'{"questions": [{"cones": 1}, 0], "question": 1}', 422, "invalid-request", "/question"),
    ],
)
def test_a_body_that_is_no_batch_is_told_where(client, assert_problem, body, status, slug, pointer) -> None:
    (error,) = assert_problem(client.post(PATH, content=body, headers=JSON), status, slug)["errors"]
    assert (error["location"], error["pointer"]) == ("body", pointer)


def test_the_document_describes_both_forms_of_a_batch(client) -> None:
    document = client.get("/openapi.json").json()
    assert document["components"]["schemas"]["FillBatch"]["properties"]["questions"]["maxItems"] == 500
    assert document["components"]["schemas"]["BatchQuestion"]["properties"]["key"]["anyOf"][0]["maxLength"] == 100
    post = document["paths"][PATH]["post"]
    assert post["operationId"] == "fill_batch"
    for content, model in ((post["requestBody"], "BatchQuestion"), (post["responses"]["200"], "BatchResult")):
        lines = content["content"][LINES["Content-Type"]]
        assert lines["schema"]["type"] == "string"
        assert lines["x-itemSchema"] == {"$ref": f"#/components/schemas/{model}"}
        assert model in document["components"]["schemas"]
    shown = post["requestBody"]["content"][LINES["Content-Type"]]["example"]
    told = results(client.post(PATH, content=shown.encode(), headers=LINES).text)
    assert [(line["key"], line["status"]) for line in told] == [("bench 1", 200), ("bench 2", 200)]
    example = post["requestBody"]["content"]["application/json"]["examples"]["several-boxes"]["value"]
    assert {result["status"] for result in client.post(PATH, json=example).json()["results"]} == {200}


class Stream:
    """One batch in lines, sent and read piece by piece, without a server in between."""

    def __init__(self) -> None:
        self.sent: asyncio.Queue[dict] = asyncio.Queue()
        self.told: asyncio.Queue[bytes] = asyncio.Queue()
        self.may_write = asyncio.Event()
        self.may_write.set()

    def say(self, body: bytes, *, more: bool = True) -> None:
        """Send a piece of the body."""
        self.sent.put_nowait({"type": "http.request", "body": body, "more_body": more})

    async def write(self, message: dict) -> None:
        """Take a message of the application, as soon as the client reads."""
        await self.may_write.wait()
        if message["type"] == "http.response.body":
            self.told.put_nowait(message["body"])

    async def next(self) -> dict:
        """The next result."""
        return json.loads(await self.told.get())


def talk(app, act: Callable[[Stream], Awaitable[None]]) -> None:
    """Let a client act while the application answers its batch in lines; the application has to come to an end."""

    async def run() -> None:
        stream = Stream()
        scope = {
            "type": "http", "asgi": {"version": "3.0", "spec_version": "2.3"}, "http_version": "1.1", "method": "POST",
            "scheme": "http", "path": PATH, "raw_path": PATH.encode(), "query_string": b"", "root_path": "",
            "headers": [(b"content-type", b"application/x-ndjson")], "server": ("here", 80), "client": None,
        }  # fmt: skip
        answering = asyncio.create_task(app(scope, stream.sent.get, stream.write))
        await act(stream)
        await answering

    asyncio.run(asyncio.wait_for(run(), 60))


def test_results_come_before_the_last_question_is_sent(app) -> None:
    async def act(stream: Stream) -> None:
        for index in range(3):
            stream.say(json.dumps(STATED).encode() + b"\n")
            assert ((told := await stream.next())["index"], told["status"]) == (index, 200)
        stream.say(b'{"no"')
        stream.say(b': 1}\n{"no": 1}')
        assert (await stream.next())["index"] == 3
        stream.say(b"", more=False)
        assert (await stream.next())["index"] == 4
        assert await stream.told.get() == b""

    talk(app, act)


def test_a_client_that_sends_all_before_it_reads_gets_every_result(app) -> None:
    async def act(stream: Stream) -> None:
        stream.may_write.clear()
        for _ in range(100):
            stream.say(b'{"no": 1}\n' * 20)
        stream.say(b"", more=False)
        while not stream.sent.empty():
            await asyncio.sleep(0)
        stream.may_write.set()
        assert [(await stream.next())["index"] for _ in range(2000)] == list(range(2000))

    talk(app, act)


def test_a_client_that_sends_without_end_and_reads_nothing_is_refused_at_last(base) -> None:
    async def act(stream: Stream) -> None:
        stream.may_write.clear()
        piece = b" " * 200_000 + b"\n" + b'{"no": 1}\n'
        for _ in range(2 * READ_AHEAD_BYTES // len(piece)):
            stream.say(piece)
        stream.say(b'{"no": 1}\n' * 1000)
        stream.say(b"", more=False)
        while not stream.sent.empty():
            await asyncio.sleep(0.01)
        stream.may_write.set()
        told = [await stream.next() for _ in range(3)]
        while told[-1]["status"] == 422:
            told.append(await stream.next())
        assert told[-1]["status"] == 413
        assert "read while you send" in told[-1]["problem"]["detail"]
        assert len(told) < 100

    talk(create_app(Settings(read_timeout=0.1), base), act)


def test_a_client_that_stops_sending_is_told_so_in_the_last_line(base) -> None:
    async def act(stream: Stream) -> None:
        stream.say(b'{"no": 1}\n{"no"')
        told = [await stream.next() for _ in range(2)]
        assert [(result["index"], result["status"]) for result in told] == [(0, 422), (1, 408)]

    talk(create_app(Settings(read_timeout=0.1), base), act)


def test_a_disconnect_stops_the_work(app) -> None:
    async def act(stream: Stream) -> None:
        stream.say(b"{}\n" * 5000, more=False)
        await stream.next()
        stream.sent.put_nowait({"type": "http.disconnect"})
        while stream.told.qsize():
            stream.told.get_nowait()

    talk(app, act)  # Would take a minute or more if all questions were answered.


def test_others_are_answered_while_a_batch_runs(app) -> None:
    async def act(stream: Stream) -> None:
        stream.say(b"{}\n" * 200, more=False)
        await stream.next()
        async with httpx.AsyncClient(transport=httpx.ASGITransport(app), base_url="http://localhost") as other:
            assert (await other.get("/healthz")).status_code == 200
        assert stream.told.qsize() < 100
        stream.sent.put_nowait({"type": "http.disconnect"})

    talk(app, act)
