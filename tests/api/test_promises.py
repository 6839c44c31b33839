"""What `/v1` promised in the last release still holds, or the newest entry of CHANGES names what does not."""

from collections.abc import Callable
from copy import deepcopy
from typing import Any

import pytest

from tests.api.promises import breaks, last_release, promises


@pytest.fixture(scope="module")
def document(client) -> dict[str, Any]:
    """The document as it is served."""
    return client.get("/openapi.json").json()


def test_what_breaks_a_promise_of_the_last_release_is_named_in_the_changes(document, base) -> None:
    """A break is named by its place in backticks, as it is listed here; a release begins a list of its own."""
    told = " ".join(base.changes[0].says)
    unnamed = [f"`{place}` {what}" for place, what in breaks(last_release(), promises(document)) if place not in told]
    assert unnamed == []


def model(document: dict[str, Any], name: str) -> dict[str, Any]:
    return document["components"]["schemas"][name]


def drop_path(document: dict[str, Any]) -> None:
    del document["paths"]["/v1/viscosity"]


def rename_operation(document: dict[str, Any]) -> None:
    document["paths"]["/v1/fill"]["post"]["operationId"] = "advise"


def drop_parameter(document: dict[str, Any]) -> None:
    parameters = document["paths"]["/v1/fill"]["get"]["parameters"]
    parameters[:] = [part for part in parameters if part["name"] != "facing"]


def need_parameter(document: dict[str, Any]) -> None:
    parameters = document["paths"]["/v1/fill"]["get"]["parameters"]
    next(part for part in parameters if part["name"] == "facing")["required"] = True


def drop_asked_field(document: dict[str, Any]) -> None:
    del model(document, "Ring")["properties"]["cones"]


def need_new_field(document: dict[str, Any]) -> None:
    model(document, "Ring")["properties"]["maker"] = {"type": "string"}
    model(document, "Ring")["required"] = ["maker"]


def drop_word(document: dict[str, Any]) -> None:
    model(document, "FinalDrive")["enum"].remove("helical")


def narrow_range(document: dict[str, Any]) -> None:
    model(document, "FillQuestion")["properties"]["coldest_start_c"]["anyOf"][0]["minimum"] = -10


def refuse_null(document: dict[str, Any]) -> None:
    model(document, "FillQuestion")["properties"]["duty"] = {"type": "string"}


def drop_answered_field(document: dict[str, Any]) -> None:
    del model(document, "Leader")["properties"]["because"]


def leave_out_answered_field(document: dict[str, Any]) -> None:
    model(document, "Leader")["required"].remove("because")


def allow_null(document: dict[str, Any]) -> None:
    model(document, "Leader")["properties"]["because"] = {"anyOf": [{"type": "string"}, {"type": "null"}]}


def add_answered_word(document: dict[str, Any]) -> None:
    model(document, "Outcome")["enum"].append("perhaps")


def change_type(document: dict[str, Any]) -> None:
    model(document, "FirstShifts")["properties"]["at_c"] = {"type": "string"}


BREAKS = {
    drop_path: "GET /v1/viscosity",
    rename_operation: "POST /v1/fill operationId",
    drop_parameter: "GET /v1/fill facing",
    need_parameter: "GET /v1/fill facing",
    drop_asked_field: "Ring cones",
    need_new_field: "Ring maker",
    drop_word: "FillQuestion final_drive",
    narrow_range: "FillQuestion coldest_start_c",
    refuse_null: "FillQuestion duty",
    drop_answered_field: "Leader because",
    leave_out_answered_field: "Leader because",
    allow_null: "Leader because",
    add_answered_word: "FillAnswer outcome",
    change_type: "FirstShifts at_c",
}


@pytest.mark.parametrize(("change", "place"), BREAKS.items(), ids=lambda part: getattr(part, "__name__", ""))
def test_a_break_is_found_where_it_is_made(document, change: Callable[[dict[str, Any]], None], place: str) -> None:
    changed = deepcopy(document)
    change(changed)
    assert place in {found for found, _ in breaks(promises(document), promises(changed))}


def add_field(document: dict[str, Any]) -> None:
    model(document, "Ring")["properties"]["maker"] = {"type": "string"}
    model(document, "Leader")["properties"]["hint"] = {"type": "string"}


def add_parameter(document: dict[str, Any]) -> None:
    parameters = document["paths"]["/v1/fill"]["get"]["parameters"]
    parameters.append({"name": "maker", "in": "query", "required": False, "schema": {"type": "string"}})


def add_asked_word(document: dict[str, Any]) -> None:
    model(document, "Detail")["enum"].append("whole")


def widen_range(document: dict[str, Any]) -> None:
    model(document, "FillQuestion")["properties"]["coldest_start_c"]["anyOf"][0]["minimum"] = -70


def add_path(document: dict[str, Any]) -> None:
    document["paths"]["/v1/weather"] = deepcopy(document["paths"]["/v1/fill"])


@pytest.mark.parametrize("change", [add_field, add_parameter, add_asked_word, add_path, widen_range])
def test_what_only_adds_breaks_nothing(document, change: Callable[[dict[str, Any]], None]) -> None:
    changed = deepcopy(document)
    change(changed)
    assert list(breaks(promises(document), promises(changed))) == []
