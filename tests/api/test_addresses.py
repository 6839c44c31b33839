"""Where the service is found: the names it is asked under, and the address that its links show behind a proxy."""

import json

import httpx
import pytest

from api.app import create_app
from api.settings import Settings, read_settings
from tests.api.square_code import drawn, number_on
from tests.conftest import Client

PUBLIC = "https://shop.example/oil"
LINKED = "/v1/fill?facing=paper"


def asked(base, host: str, *flags: str) -> int:
    """The status of a request under this name."""
    client = Client(create_app(read_settings(flags), base))
    return client.get("/v1/shop/shelf", headers={"Host": host}).status_code


@pytest.mark.parametrize(
    "host", ["localhost", "LOCALHOST:8000", "localhost.", "127.0.0.1:8000", "127.9.9.9", "[::1]:8000"]
)
def test_this_machine_may_ask_by_any_of_its_own_names(base, host: str) -> None:
    assert asked(base, host) == 200


@pytest.mark.parametrize(
    "host",
    [
        "rebound.example",
        "localhost.rebound.example",
        "127.0.0.1.rebound.example",
        "rebound.example:80",
        "192.168.1.5",
        "0.0.0.0",
        "localhost:80:80",
        "localhost@rebound.example",
        "[::1",
        "",
        "a" * 5000,
    ],
)
def test_a_name_that_another_can_point_here_is_refused(base, host: str) -> None:
    assert asked(base, host) == 421


def test_the_refusal_names_the_option_and_not_the_host(client, assert_problem) -> None:
    response = client.get("/", headers={"Host": "rebound.example"})
    assert "--allowed-host" in assert_problem(response, 421, "unknown-host")["detail"]
    assert "rebound" not in response.text


def test_names_are_added_by_every_option_that_tells_of_one(base) -> None:
    assert asked(base, "oil.lan:8000", "--allowed-host", "printer", "--allowed-host", "Oil.lan") == 200
    assert asked(base, "counter.lan", "--host", "counter.lan") == 200
    assert asked(base, "shop.example", "--public-url", PUBLIC) == 200
    assert asked(base, "elsewhere.example", "--public-url", PUBLIC) == 421


@pytest.mark.parametrize("every", ["0.0.0.0", "::"])
def test_where_every_address_is_listened_on_any_address_may_be_asked_but_no_name(base, every: str) -> None:
    assert asked(base, "192.168.1.5:8000", "--host", every) == 200
    assert asked(base, "[fe80::1]:8000", "--host", every) == 200
    assert asked(base, "rebound.example", "--host", every) == 421


@pytest.fixture(
    scope="module", params=[("https://shop.example/oil", ""), ("", "/oil")], ids=["public-url", "root-path"]
)
def behind(request, base) -> Client:
    """A client of a service that a proxy puts at /oil."""
    public_url, root_path = request.param
    return Client(create_app(Settings(public_url=public_url, root_path=root_path), base))


def test_the_prefix_may_be_left_on_or_taken_off_by_the_proxy(behind) -> None:
    for path in ("/v1/facings/paper", "/", "/docs", "/problems/unknown-id"):
        assert behind.get(f"/oil{path}").content == behind.get(path).content
        assert behind.get(f"/oil{path}").status_code == 200
    assert behind.get("/oilcan/v1/facings").status_code == 404
    longer_than_a_question = json.dumps({"questions": [{}]}).ljust(300_000)
    json_type = {"Content-Type": "application/json"}
    assert behind.post("/oil/v1/fill", content=longer_than_a_question, headers=json_type).status_code == 413
    assert behind.post("/oil/v1/fill/batch", content=longer_than_a_question, headers=json_type).status_code == 200


def test_every_link_in_an_answer_begins_with_the_address(behind) -> None:
    address = behind.app.state.settings.address
    answer = behind.get(LINKED).json()
    assert answer["full"] == f"{address}/v1/fill?facing=paper&detail=full"
    assert behind.post("/v1/fill", json={"rings": [{"facing": "paper"}]}).json() == answer
    batch = behind.post("/v1/fill/batch", json={"questions": [{"rings": [{"facing": "paper"}]}, {"duty": "no"}]}).json()
    assert batch["results"][0]["answer"] == answer
    assert batch["results"][1]["problem"]["type"] == f"{address}/problems/unknown-id"
    assert behind.get("/v1/facings/papr").json()["type"] == f"{address}/problems/unknown-id"
    assert behind.get("/nowhere").json()["type"] == f"{address}/problems/unknown-path"
    assert f"Did you mean {address}/v1/fill?" in behind.get("/oil/v1/fil").json()["detail"]


def test_the_document_names_the_address(behind, client) -> None:
    address = behind.app.state.settings.address
    document = behind.get("/openapi.json").json()
    assert document["servers"] == [{"url": address}]
    shown = {name: it["value"]["type"] for name, it in document["components"]["examples"].items()}
    assert shown["unknown-path"] == f"{address}/problems/unknown-path"
    assert document["paths"].keys() == client.get("/openapi.json").json()["paths"].keys()


def test_the_slip_is_found_again_at_the_address_that_is_printed_on_it(behind) -> None:
    slip = behind.get("/slip?facing=paper", headers={"Host": "localhost:8000"}).text
    address = behind.app.state.settings.address
    here = address if "://" in address else f"http://localhost:8000{address}"
    assert f'<a href="{here}/slip?' in slip
    assert drawn(f"{here}/slip?number={number_on(slip)}") in slip


@pytest.mark.parametrize(("named", "scheme"), [("127.0.0.1", "https"), ("10.0.0.5,10.1.0.0/16", "http")])
def test_only_a_proxy_that_is_named_may_say_how_it_was_asked(run_server, named: str, scheme: str) -> None:
    forwarded = {"X-Forwarded-Proto": "https", "X-Forwarded-For": "192.0.2.7"}
    with run_server("--forwarded-allow-ips", named) as server:
        slip = httpx.get(f"{server.address}/slip?facing=paper", headers=forwarded, timeout=60).text
    assert drawn(f"{scheme}://{server.address.removeprefix('http://')}/slip?number={number_on(slip)}") in slip
