"""What Prometheus reads: true counts, under names that no caller can multiply."""

import asyncio

import httpx
import pytest
from prometheus_client.parser import text_string_to_metric_families
from prometheus_client.samples import Sample

from api.app import create_app
from api.settings import Settings


@pytest.fixture
def fresh(base, client):
    """A client of an application that nobody has asked yet."""
    return type(client)(create_app(Settings(), base))


def samples(client, name: str) -> list[Sample]:
    """The series of one name, as a scraper reads them."""
    response = client.get("/metrics")
    assert response.status_code == 200
    assert response.headers["content-type"].startswith("text/plain; version=")
    families = text_string_to_metric_families(response.text)
    return [sample for family in families for sample in family.samples if sample.name == name]


def counted(client) -> dict[tuple[str, str, str], float]:
    """Requests by route, method and class of status."""
    found = samples(client, "fillwright_requests_total")
    return {(each.labels["route"], each.labels["method"], each.labels["status"]): each.value for each in found}


def test_requests_are_counted_by_template_method_and_class_of_status(fresh) -> None:
    for path in ("/v1/facings/paper", "/v1/facings/bronze", "/v1/facings/nothing-like-it", "/healthz"):
        fresh.get(path)
    fresh.request("HEAD", "/v1/facings/paper")
    fresh.post("/v1/fill", json={"duty": 7})
    fresh.get("/docs/assets/swagger-ui.css")
    assert counted(fresh) == {
        ("/v1/facings/{id}", "GET", "2xx"): 2,
        ("/v1/facings/{id}", "GET", "4xx"): 1,
        ("/v1/facings/{id}", "HEAD", "2xx"): 1,
        ("/healthz", "GET", "2xx"): 1,
        ("/v1/fill", "POST", "4xx"): 1,
        ("/docs/assets/{name}", "GET", "2xx"): 1,
    }


def test_no_caller_can_make_a_series_of_their_own(fresh) -> None:
    for number in range(5):
        fresh.get(f"/made-up-{number}?and=more")
        fresh.request(f"METHOD{number}", "/v1/fill")
        fresh.get(f"/v1/facings/made-up-{number}")
        fresh.get(f"/docs/assets/made-up-{number}")
        fresh.get("/healthz", headers={"Host": f"made-up-{number}"})
    assert set(counted(fresh)) == {
        ("none", "GET", "4xx"),
        ("/v1/fill", "other", "4xx"),
        ("/v1/facings/{id}", "GET", "4xx"),
        ("/docs/assets/{name}", "GET", "4xx"),
    }


def test_durations_are_kept_by_route(fresh) -> None:
    for _ in range(3):
        fresh.get("/v1/facings/paper")
    counts = {each.labels["route"]: each.value for each in samples(fresh, "fillwright_request_seconds_count")}
    assert counts["/v1/facings/{id}"] == 3


def test_a_request_is_in_flight_until_its_answer_has_gone(base, client) -> None:
    app = create_app(Settings(), base)
    seen: list[float] = []

    @app.get("/look-inside")
    async def look_inside() -> None:
        async with httpx.AsyncClient(transport=httpx.ASGITransport(app), base_url="http://localhost") as within:
            answers = await asyncio.gather(*(within.get("/metrics") for _ in range(2)))
        found = [text_string_to_metric_families(answer.text) for answer in answers]
        seen.extend(family.samples[0].value for families in found for family in families if "in_flight" in family.name)

    asking = type(client)(app)
    asking.get("/look-inside")
    assert len(seen) == 2
    assert all(value >= 2 for value in seen)
    assert [each.value for each in samples(asking, "fillwright_requests_in_flight")] == [1]


def test_the_knowledge_that_answers_is_told(fresh, base) -> None:
    (info,) = samples(fresh, "fillwright_knowledge_info")
    assert info.labels == {"version": base.stamp.version, "digest": base.stamp.digest}


def test_a_fault_of_ours_is_counted_as_one(base, client) -> None:
    app = create_app(Settings(), base)

    @app.get("/fault")
    async def fault() -> None:
        raise RuntimeError

    asking = type(client)(app)
    assert asking.get("/fault").status_code == 500
    assert counted(asking) == {("/fault", "GET", "5xx"): 1}


def test_the_memory_of_the_process_is_told(live_server: str) -> None:
    families = text_string_to_metric_families(httpx.get(f"{live_server}/metrics", timeout=60).text)
    (resident,) = (family for family in families if family.name == "process_resident_memory_bytes")
    assert 20e6 < resident.samples[0].value < 2e9
