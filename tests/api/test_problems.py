"""Every error is one shape, says what is allowed, and repeats nothing of what was sent."""

import asyncio
import json
import logging
from collections.abc import AsyncIterator

import httpx
import pytest

from api.app import create_app
from api.http.problems import KINDS
from api.settings import MAX_BODY_BYTES, Settings

JSON = {"Content-Type": "application/json"}
PAGE = {"Origin": "https://shop.example"}


def sent(client, body: bytes, **headers: str) -> httpx.Response:
    """These bytes, posted as a fill question."""
    return client.post("/v1/fill", content=body, headers={**JSON, **headers})


WRONG_BODIES = (
    b'{"rings":' + b"[" * 800 + b"]" * 800 + b"}",
    b'{"question":' * 400 + b"[]" + b"}" * 400,
    b'{"rings": [' + b"{}," * 50_000 + b"{}]}",
    b'{"rings": [null, 1, "a", [], {}], "question": 3, "old": [], "symptoms": {}}',
    b"{" + b",".join(b'"field_%d": 1' % number for number in range(10_000)) + b"}",
    b'{"' + b"k" * 100_000 + b'": 1}',
    b'{"capacity_l": ' + b"9" * 5000 + b"}",
    b'{"kv40_mm2_s": 01}',
    b'{"name": "\x00"}',
    b'{"": {"": {"": null}}}',
    b"{'name': 1}",
    b"   ",
)


@pytest.mark.parametrize("body", WRONG_BODIES, ids=lambda body: body[:16].decode())
@pytest.mark.parametrize("route", ["fill", "jug", "drain", "symptom", "shift"])
def test_a_body_however_wrong_is_never_a_fault_of_ours(client, assert_problem, route: str, body: bytes) -> None:
    response = client.post(f"/v1/{route}", content=body, headers=JSON)
    slug = {400: "malformed-json", 422: "invalid-request"}[response.status_code]
    assert all(error["detail"] for error in assert_problem(response, response.status_code, slug)["errors"])


def test_an_empty_body_is_told_apart_from_an_empty_question(client, assert_problem) -> None:
    body = assert_problem(sent(client, b""), 422, "invalid-request")
    assert body["errors"][0]["pointer"] == ""
    assert body["errors"][0]["code"] == "missing"
    assert "Must be a JSON object; {} is a question too." in body["detail"]


def test_an_empty_body_is_told_what_a_question_cannot_do_without(client, assert_problem) -> None:
    body = assert_problem(client.post("/v1/shift", headers=JSON), 422, "invalid-request")
    assert "a JSON object with inertia_kg_m2 and speed_difference_rpm" in body["detail"]


@pytest.mark.parametrize("body", [b"[]", b"null", b"3", b'"box"', b"true"])
def test_a_body_that_is_no_object_is_pointed_at_as_a_whole(client, assert_problem, body: bytes) -> None:
    error = assert_problem(sent(client, body), 422, "invalid-request")["errors"][0]
    assert (error["location"], error["pointer"]) == ("body", "")


@pytest.mark.parametrize(
    "content_type",
    [
        "",
        "text/plain",
        "application/x-www-form-urlencoded",
        "application/json; charset=utf-16",
        "json",
        'a/b; x="' + ";" * 10_000,
    ],
)
def test_a_body_that_is_not_sent_as_json_is_refused(client, assert_problem, content_type: str) -> None:
    headers = {"Content-Type": content_type} if content_type else {}
    response = client.post("/v1/fill", content=b"{}", headers=headers)
    assert_problem(response, 415, "unsupported-media-type")


@pytest.mark.parametrize(
    "content_type",
    [
        "application/json",
        "application/json; charset=UTF-8",
        'application/json;charset="utf-8"',
        "application/vnd.shop+json",
        "application/json; charset*=a; charset*0=b",
        f"application/json; charset*{'1' * 5000}=b",
    ],
)
def test_json_by_any_of_its_names_is_read(client, content_type: str) -> None:
    assert client.post("/v1/fill", content=b"{}", headers={"Content-Type": content_type}).status_code == 200


@pytest.mark.parametrize(
    ("question", "pointer", "code", "expected"),
    [
        ({"coldest_start_c": "-20"}, "/coldest_start_c", "not_a_number", "without quotes"),
        ({"coldest_start_c": True}, "/coldest_start_c", "not_a_number", "number"),
        ({"coldest_start_c": 51}, "/coldest_start_c", "out_of_range", "from -50 up to 50 °C"),
        ({"coldest_start_c": 10**400}, "/coldest_start_c", "not_a_number", "from -50 up to 50 °C"),
        ({"yellow_metal": "yes"}, "/yellow_metal", "not_true_or_false", "true or false"),
        ({"rings": {}}, "/rings", "not_a_list", "list"),
        ({"rings": [{}] * 13}, "/rings", "too_long", "at most 12"),
        ({"rings": [{"cones": 10**400}]}, "/rings/0/cones", "out_of_range", "from 1 up to 3."),
        ({"rings": [{}, {"cones": 4}]}, "/rings/1/cones", "out_of_range", "from 1 up to 3."),
        ({"rings": [{"facing": "p" * 61}]}, "/rings/0/facing", "too_long", "at most 60"),
        ({"duty": ""}, "/duty", "empty", "Leave it out"),
        ({"final_drive": 1}, "/final_drive", "not_one_of", "none, helical or hypoid"),
        ({"bearing": {"speed_rpm": 1}}, "/bearing/pitch_diameter_mm", "missing", "needed"),
        ({"service_data": {"grade": ""}}, "/service_data/grade", "empty", "empty"),
        ({"service_data": {"grade": "unknown"}}, "/service_data/grade", "says_nothing", "Leave it out"),
        ({"on_hand": [{"label": {"grade": " "}}]}, "/on_hand/0/label/grade", "says_nothing", "Leave it out"),
        ({"a/b~c": 1}, "/a~1b~0c", "unknown_field", "no such field"),
    ],
)
def test_a_wrong_value_is_told_in_plain_words(client, assert_problem, question, pointer, code, expected) -> None:
    error = assert_problem(client.post("/v1/fill", json=question), 422, "invalid-request")["errors"][0]
    assert (error["location"], error["pointer"], error["code"]) == ("body", pointer, code)
    assert expected in error["detail"]


def test_a_mistyped_field_or_choice_is_told_with_what_is_allowed(client, assert_problem) -> None:
    response = client.post("/v1/fill", json={"final_drive": "worm"})
    assert assert_problem(response, 422, "unknown-id")["errors"][0]["known"] == ["none", "helical", "hypoid"]
    response = client.post("/v1/fill", json={"rings": [{"facin": "paper"}]})
    error = assert_problem(response, 422, "invalid-request")["errors"][0]
    assert error["pointer"] == "/rings/0/facin"
    assert error["did_you_mean"] == "facing"
    assert "condition" in error["known"]


@pytest.mark.parametrize(
    ("route", "question", "pointer"),
    [
        ("fill", {"on_hand": None}, "/on_hand"),
        ("fill", {"use_shelf": None}, "/use_shelf"),
        ("fill", {"in_it_now": {"brookfield": None}}, "/in_it_now/brookfield"),
        ("symptom", {"symptoms": None}, "/symptoms"),
    ],
)
def test_null_where_it_says_nothing_is_told_to_be_left_out(client, assert_problem, route, question, pointer) -> None:
    error = assert_problem(client.post(f"/v1/{route}", json=question), 422, "invalid-request")["errors"][0]
    assert (error["pointer"], error["detail"].endswith(" Leave it out when it is not known.")) == (pointer, True)


@pytest.mark.parametrize(
    ("route", "question", "detail"),
    [
        (
            "fill",
            {"bearing": {"pitch_diameter_mm": None, "speed_rpm": 1}},
            "Must be a number from 5 up to 1 000 mm, without quotes.",
        ),
        ("stock", {"boxes": [{"name": ""}]}, "Must not be empty."),
    ],
)
def test_what_is_needed_is_not_told_to_be_left_out(client, assert_problem, route, question, detail) -> None:
    (error,) = assert_problem(client.post(f"/v1/{route}", json=question), 422, "invalid-request")["errors"]
    assert error["detail"] == detail


@pytest.mark.parametrize("field", ["facing", "body", "cones", "condition"])
@pytest.mark.parametrize(("route", "inside"), [("fill", ()), ("symptom", ("question",))])
def test_what_is_said_of_a_ring_is_sent_to_the_rings(client, assert_problem, field: str, route: str, inside) -> None:
    question = {field: "paper"}
    for name in inside:
        question = {name: question}
    error = assert_problem(client.post(f"/v1/{route}", json=question), 422, "invalid-request")["errors"][0]
    assert error["pointer"] == "/".join(("", *inside, field))
    assert f'"rings": [{{"{field}": ...}}]' in error["detail"]
    assert "did_you_mean" not in error


@pytest.mark.parametrize(
    ("question", "pointer", "near"),
    [
        ({"rings": [{"facing": "papr"}]}, "/rings/0/facing", "paper"),
        ({"rings": [{"facing": "bronze"}, {"body": "stel"}]}, "/rings/1/body", "steel"),
        ({"rings": [{"body": "Sinterd_Iron"}]}, "/rings/0/body", "sintered-iron"),
        ({"duty": "stret"}, "/duty", "street"),
        ({"service_data": {"family": "GL 44"}}, "/service_data/family", "gl-4"),
        ({"service_data": {"grade": "75w-9"}}, "/service_data/grade", "75W-90"),
        ({"box_ref": "Bench_Bronz_5"}, "/box_ref", "bench-bronze-5"),
        ({"on_hand": [{"copper_strip": {"rating": "1BB"}}]}, "/on_hand/0/copper_strip/rating", "1b"),
    ],
)
def test_an_unknown_id_is_told_with_the_nearest_and_the_known_ones(client, assert_problem, question, pointer, near):
    error = assert_problem(client.post("/v1/fill", json=question), 422, "unknown-id")["errors"][0]
    assert (error["location"], error["pointer"], error["did_you_mean"]) == ("body", pointer, near)
    assert near in error["known"]


def test_a_ring_faced_with_nothing_is_told_how_a_box_without_rings_is_said(client, assert_problem) -> None:
    response = client.post("/v1/fill", json={"rings": [{"facing": "none"}]})
    error = assert_problem(response, 422, "unknown-id")["errors"][0]
    assert '"rings": []' in error["detail"]
    assert "did_you_mean" not in error
    assert "bronze" in error["known"]


@pytest.mark.parametrize("facing", ["unknown", "null", "?", "n/a", "\u200b"])
def test_a_facing_that_nobody_knows_is_not_taken_for_a_box_without_rings(client, assert_problem, facing: str) -> None:
    for response in (
        client.post("/v1/fill", json={"rings": [{"facing": facing}]}),
        client.get("/v1/fill", params={"facing": facing}),
    ):
        error = assert_problem(response, 422, "unknown-id")["errors"][0]
        assert error["detail"] == "This id is not known. Leave it out when it is not known."


@pytest.mark.parametrize(
    ("link", "slug", "pointer", "expected"),
    [
        ("facing=papr", "unknown-id", "/facing", "paper"),
        ("facing=Sintered_Iron&body=Sintered_Iron", "unknown-id", "/facing", "sintered"),
        ("facing=None", "unknown-id", "/facing", "facing=none"),
        ("service_family=gl44", "unknown-id", "/service_family", "gl-4"),
        ("coldest_start_c=cold", "invalid-request", "/coldest_start_c", "number"),
        ("coldest_start_c=nan", "invalid-request", "/coldest_start_c", "number"),
        ("cones=2.5", "invalid-request", "/cones", "whole number"),
        ("yellow_metal=perhaps", "invalid-request", "/yellow_metal", "true or false"),
        ("yellow_metal=yes", "invalid-request", "/yellow_metal", "true or false"),
        ("use_shelf=1", "invalid-request", "/use_shelf", "true or false"),
        ("coldest_start_c=-1_0", "invalid-request", "/coldest_start_c", "number"),
        ("facing=paper&cones=0_1", "invalid-request", "/cones", "whole number"),
        ("service_grade=%20", "invalid-request", "/service_grade", "Leave it out"),
        ("service_grade=%e2%80%8b", "invalid-request", "/service_grade", "Leave it out"),
        ("facing=", "invalid-request", "/facing", "Leave it out"),
        ("facin=paper", "invalid-request", "/facin", "facing"),
        ("facing=paper&facing=bronze", "invalid-request", "/facing", "only once"),
    ],
)
def test_a_wrong_link_is_told_by_its_parameter(client, assert_problem, link, slug, pointer, expected) -> None:
    error = assert_problem(client.get(f"/v1/fill?{link}"), 422, slug)["errors"][0]
    assert (error["location"], error["pointer"]) == ("query", pointer)
    assert expected in error["detail"]


@pytest.mark.parametrize(("method", "place"), [("GET", "query"), ("POST", "body")])
def test_a_field_of_too_long_a_name_is_told_by_where_it_stands(client, assert_problem, method, place) -> None:
    long = {"a" * 61: 1}
    response = client.request(method, "/v1/fill", **({"params": long} if method == "GET" else {"json": long}))
    assert assert_problem(response, 422, "invalid-request")["detail"].startswith(f"The {place}: There is no field")


def test_a_long_list_of_errors_is_cut(client, assert_problem) -> None:
    body = assert_problem(client.post("/v1/fill", json={f"field_{n}": 1 for n in range(500)}), 422, "invalid-request")
    assert len(body["errors"]) == 20
    assert body["detail"].startswith("500 values need fixing.")


@pytest.mark.parametrize(
    ("route", "question", "pointer", "most"),
    [
        ("fill", {"rings": [[]] * 80_000}, "/rings", 12),
        ("fill", {"on_hand": [1] * 120_000}, "/on_hand", 50),
        ("fill", {"in_it_now": {"brookfield": [{}] * 80_000}}, "/in_it_now/brookfield", 20),
        ("symptom", {"symptoms": [1] * 120_000}, "/symptoms", 20),
        ("symptom", {"fluid_state": [1] * 120_000}, "/fluid_state", 20),
    ],
)
def test_a_list_too_long_is_told_as_that_and_none_of_its_entries_is_read(
    client, assert_problem, route, question, pointer, most
) -> None:
    body = json.dumps(question, separators=(",", ":")).encode()
    response = client.post(f"/v1/{route}", content=body, headers=JSON)
    (error,) = assert_problem(response, 422, "invalid-request")["errors"]
    assert (error["pointer"], error["detail"]) == (pointer, f"Must have at most {most} entries.")


def test_nothing_that_was_sent_comes_back(client) -> None:
    marked = "<script>told-back</script>"
    fields = ("duty", "yellow_metal", "final_drive", "rings")
    for question in (*({field: marked} for field in fields), {"rings": [marked]}, {marked * 10: 1}):
        assert "told-back" not in client.post("/v1/fill", json=question).text
    assert "told-back" not in client.get(f"/v1/{marked}").text
    assert "told-back" not in client.get("/v1/facings/told-back").text


@pytest.mark.parametrize(
    ("path", "near"),
    [("/v1/fil", "/v1/fill"), ("/v1/fill/", "/v1/fill"), ("/v1/facing", "/v1/facings"), ("/v1/" + "a" * 5000, "/docs")],
)
def test_an_unknown_path_is_told_with_the_nearest(client, assert_problem, path: str, near: str) -> None:
    assert near in assert_problem(client.get(path), 404, "unknown-path")["detail"]


@pytest.mark.parametrize(
    ("path", "template"),
    [("/v1/lubricants/gl-4-75w-90/", "/v1/lubricants/{id}"), ("/problems/internal//", "/problems/{slug}")],
)
def test_a_path_with_a_slash_too_many_is_told_without_it(client, assert_problem, path: str, template: str) -> None:
    detail = assert_problem(client.get(path), 404, "unknown-path")["detail"]
    assert f"Did you mean {template} without a slash at its end?" in detail


@pytest.mark.parametrize(
    ("method", "path", "allowed"),
    [
        ("DELETE", "/v1/fill", "GET, HEAD, OPTIONS, POST"),
        ("GET", "/v1/fill/batch", "OPTIONS, POST"),
        ("POST", "/v1/facings", "GET, HEAD, OPTIONS"),
        ("POST", "/healthz", "GET, HEAD, OPTIONS"),
        ("POST", "/docs/assets/swagger-ui.css", "GET, HEAD, OPTIONS"),
        ("POST", "/openapi.json", "GET, HEAD, OPTIONS"),
    ],
)
def test_a_wrong_method_is_told_with_the_right_ones(client, assert_problem, method, path, allowed) -> None:
    response = client.request(method, path)
    assert_problem(response, 405, "method-not-allowed")
    told = client.request("OPTIONS", path)
    assert (told.status_code, told.content) == (204, b"")
    assert response.headers["allow"] == told.headers["allow"] == allowed


@pytest.mark.parametrize("encoding", ["gzip", "br", "gzip, identity"])
def test_a_compressed_body_is_refused(client, assert_problem, encoding: str) -> None:
    headers = {"Content-Type": "application/json", "Content-Encoding": encoding}
    assert_problem(client.post("/v1/fill", content=b"{}", headers=headers), 415, "unsupported-media-type")


@pytest.mark.parametrize("path", ["/v1/fill?facing=paper&service_note=%ff", "/v1/facings?%fe"])
def test_a_query_that_is_no_text_is_refused(client, assert_problem, path: str) -> None:
    error = assert_problem(client.get(path), 422, "invalid-request")["errors"][0]
    assert (error["location"], error["code"]) == ("query", "not_utf8")


@pytest.mark.parametrize(("method", "path"), [("GET", "/v1/facings?x=1"), ("POST", "/v1/fill?facing=bronze")])
def test_a_query_parameter_that_nobody_reads_is_refused(client, assert_problem, method: str, path: str) -> None:
    response = client.request(method, path, json={} if method == "POST" else None)
    error = assert_problem(response, 422, "invalid-request")["errors"][0]
    assert (error["location"], error["pointer"]) == ("query", f"/{path.partition('?')[2].partition('=')[0]}")


def test_a_body_too_large_is_refused_whether_or_not_its_length_is_announced(client, assert_problem) -> None:
    large = b'"' + b"a" * MAX_BODY_BYTES + b'"'

    async def pieces():
        for start in range(0, len(large), 100_000):
            yield large[start : start + 100_000]

    assert_problem(client.post("/v1/fill", content=large, headers={**JSON, **PAGE}), 413, "body-too-large")
    response = client.post("/v1/fill", content=pieces(), headers={**JSON, **PAGE})
    assert_problem(response, 413, "body-too-large")
    assert response.headers["access-control-allow-origin"] == PAGE["Origin"]


def test_a_body_that_never_ends_is_refused(base, assert_problem, client) -> None:
    async def endless() -> AsyncIterator[bytes]:
        while True:
            yield b" "
            await asyncio.sleep(0.01)

    impatient = type(client)(create_app(Settings(read_timeout=0.1, origins=(PAGE["Origin"],)), base))
    response = impatient.post("/v1/fill", content=endless(), headers={**JSON, **PAGE})
    assert "0.1 s" in assert_problem(response, 408, "request-too-slow")["detail"]
    assert response.headers["access-control-allow-origin"] == PAGE["Origin"]


def test_a_fault_of_ours_is_a_problem_that_tells_nothing_of_the_fault(base, assert_problem, caplog) -> None:
    faulty = create_app(Settings(origins=(PAGE["Origin"],)), base)

    @faulty.get("/fault")
    async def fault() -> None:
        raise RuntimeError("secret of the house")

    async def send() -> httpx.Response:
        async with httpx.AsyncClient(transport=httpx.ASGITransport(faulty), base_url="http://localhost") as client:
            return await client.get("/fault", headers=PAGE)

    with caplog.at_level(logging.ERROR, logger="fillwright"):
        response = asyncio.run(send())
    body = assert_problem(response, 500, "internal")
    assert "secret" not in response.text
    (told,) = (record for record in caplog.records if record.levelno == logging.ERROR)
    assert told.fields["request_id"] == body["instance"].removeprefix("urn:uuid:")
    assert "secret of the house" in caplog.text
    assert response.headers["access-control-allow-origin"] == PAGE["Origin"]


def test_every_kind_of_problem_is_explained_where_its_type_points(client, assert_problem) -> None:
    assert_problem(client.get("/problems/malformed-jsn"), 404, "unknown-id")
    for slug in KINDS:
        page = client.get(f"/problems/{slug}").json()
        assert page["slug"] == slug
        assert page["meaning"]
        assert page["mend"]
    assert {page["slug"] for page in client.get("/problems").json()["problems"]} == set(KINDS)
