"""The counter would fill the same: everyday_fills.toml, common practice, written without looking at any answer."""

from collections.abc import Iterator
from fnmatch import fnmatchcase
from typing import Any

import pytest

from tests.golden.everyday_fills import EVERYDAY

KNOWN = {
    "box", "ask", "outcome", "leads", "verdict", "by", "service", "never", "plain", "serves", "asks", "not_asked",
    "safest", "tells", "first", "verdicts", "offers", "source", "why",
}  # fmt: skip
REFUSED = [pytest.param(case, id=id) for id, case in EVERYDAY.items() if "offers" in case]
ANSWERED = [pytest.param(case, id=id) for id, case in EVERYDAY.items() if "offers" not in case]


@pytest.mark.parametrize("case", ANSWERED)
def test_the_counter_would_fill_the_same(case, ask_wire) -> None:
    assert list(departures(case, ask_wire(case["ask"], detail="full"))) == []


@pytest.mark.parametrize("case", REFUSED)
def test_what_cannot_be_read_is_refused_with_the_nearest_and_never_followed(case, client, assert_problem) -> None:
    problem = assert_problem(client.post("/v1/fill", json=case["ask"]), 422, "unknown-id")
    offered = {name for error in problem["errors"] for name in (error.get("did_you_mean"), *error.get("known", ()))}
    assert set(case["offers"]) <= offered


def test_every_case_names_classes_that_exist_and_says_why(base) -> None:
    ids = {oil.id for oil in base.lubricants}
    for id, case in EVERYDAY.items():
        named = [name for name in (*case.get("leads", ()), *case.get("safest", ())) if " " not in name]
        assert set(named) | set(case.get("serves", ())) <= ids | {"nothing"}, id
        assert all(any(fnmatchcase(one, it) for one in ids) for it in (*case.get("never", ()), *case.get("plain", ())))
        assert case["why"]
        assert case.keys() <= KNOWN, id
        assert "offers" in case or case["leads"], id


def departures(case: dict[str, Any], answer: dict[str, Any]) -> Iterator[str]:
    """What of an answer is not as the counter would have it."""
    leader = answer["leader"]
    verdicts = {one["lubricant"]["id"]: one["verdict"] for one in answer["candidates"]}
    named = [leader["lubricant"]["id"], *leader["alike"]] if leader else []
    named += [other["lubricant"]["id"] for other in answer["others"]]
    if answer["outcome"] not in case["outcome"]:
        yield f"outcome {answer['outcome']}"
    if led(leader) not in case["leads"]:
        yield f"{led(leader)} leads"
    if leader and answer["outcome"] == "settled" and leader["verdict"] not in case.get("verdict", [leader["verdict"]]):
        yield f"the leader {leader['verdict']}"
    if leader and leader["leads_by"] not in case.get("by", [leader["leads_by"]]):
        yield f"leads by {leader['leads_by']}"
    if answer["service_data"]["status"] not in case.get("service", [answer["service_data"]["status"]]):
        yield f"service data {answer['service_data']['status']}"
    yield from (f"{id} is named" for id in named if id and matches(id, case.get("never", ())))
    unpraised = (*case.get("never", ()), *case.get("plain", ()))
    yield from (f"{id} fits" for id, verdict in verdicts.items() if verdict == "fits" and matches(id, unpraised))
    yield from (f"{id} is refused" for id in case.get("serves", ()) if verdicts[id] == "does-not-fit")
    safest = answer["safest_if_unanswered"]
    if "safest" in case and (safest and safest["lubricant"]["id"]) not in case["safest"]:
        yield "another is safest"
    told = f"{answer['summary']} {answer['say']} {answer['way_out']} {leader and leader['care']} {answer['cautions']}"
    yield from (f"{word} is not told" for word in case.get("tells", ()) if word.lower() not in told.lower())
    yield from asked_otherwise(case, [item["pointer"] for item in answer["ask_next"]])
    yield from jugs_otherwise(case, answer["jugs"])


def asked_otherwise(case: dict[str, Any], asked: list[str]) -> Iterator[str]:
    """What is asked that should not be, or not in its place."""
    wanted = case.get("asks")
    first = asked[: len(wanted)] if wanted else asked
    if wanted is not None and (len(first) != len(wanted) or not all(map(fnmatchcase, first, wanted))):
        yield f"asks {asked}"
    yield from (f"asks {pointer}" for pointer in asked if pointer in case.get("not_asked", ()))


def jugs_otherwise(case: dict[str, Any], jugs: list[dict[str, Any]]) -> Iterator[str]:
    """Which jugs stand otherwise than the counter would place them."""
    first = next((jug["name"] for jug in jugs if jug["rank"] == 1), "nothing")
    if first not in case.get("first", [first]):
        yield f"jug {first} stands first"
    for jug in jugs:
        if jug["verdict"] not in case.get("verdicts", {}).get(jug["name"], [jug["verdict"]]):
            yield f"jug {jug['name']} {jug['verdict']}"


def led(leader: dict[str, Any] | None) -> str:
    """Who leads, as the cases name it."""
    if leader is None:
        return "nothing"
    lubricant = leader["lubricant"]
    return lubricant["id"] or f"{lubricant['family']} {lubricant['grade']}"


def matches(id: str, patterns: Any) -> bool:
    """Whether an id is one that a case warns of."""
    return any(fnmatchcase(id, pattern) for pattern in patterns)
