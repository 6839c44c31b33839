"""Every operation is asked what its own OpenAPI document promises, within and outside of the promise.

Ids are plain strings in the document, so that a new facing breaks no client; a random one is rightly refused, and so
is a grade that cannot be read. Here they are narrowed to the ids and grades this knowledge has: then nothing that the
document allows may be refused, and no check has to be left out. `facing=none` is left out of the narrowed ids, since
OpenAPI cannot say of query parameters that it goes without body, cones and condition. So are oils that are no thinner
when hot and drains of more than the box holds; tests/api/test_wording.py asks all of those.
A batch in lines may be any text, since a line that is no question is told so in its own result: no text is sent
as one to be refused, and tests/api/test_batch.py asks the bad lines.

Of some operations thousands of cases are made; the first few and every so many after them are asked, and fewer where
each is the work of many answers to a question that `POST /v1/fill` is asked too. All of them:
`CONTRACT_EVERY=1 pytest -n 0 tests/contract`, and with `CONTRACT_EXAMPLES=500` as many at random besides.
"""

import os
from collections import Counter
from collections.abc import Iterable
from itertools import islice
from typing import Any

import schemathesis
from schemathesis.config import SchemathesisConfig

from api.app import create_app
from api.batch import LINES
from api.http.problems import KINDS
from api.openapi import document
from api.settings import DEMO, Settings
from knowledge.assemble import read_knowledge, read_shop
from knowledge.judging.rules import RULES
from knowledge.symptom.rows import SymptomRow

BASE = read_knowledge()
SHOP = read_shop(DEMO, BASE)
PATIENCE_S = 600
ALWAYS, EVERY = 5, int(os.environ.get("CONTRACT_EVERY", "50"))
SPARED = {"POST /v1/fill/firmness": 10, "POST /v1/fill/map": 4, "POST /v1/fill/turns": 4} if EVERY > 1 else {}
CONFIG = {
    "generation": {
        "max-examples": int(os.environ.get("CONTRACT_EXAMPLES", "2")),
        "deterministic": True,
        "database": "none",
    },
    # How long the cases take to be made is the machine's affair.
    "suppress-health-check": ["too_slow"],
    # A list of too many questions is too large, and not only wrong.
    "checks": {"negative_data_rejection": {"expected-statuses": [400, 404, 405, 406, 413, 415, 422]}},
}

POINTERS = tuple(row.pointer for row in BASE.unknowns.values())
GRADES = tuple(row.grade for row in BASE.lubricant_rows.values())
IDS_OF_FIELDS: dict[str, dict[str, Iterable[str]]] = {
    "Ring": {"facing": BASE.facings, "body": BASE.bodies},
    "FluidNamed": {"family": BASE.families, "grade": GRADES},
    "ServiceData": {"family": BASE.families, "grade": GRADES},
    "Label": {"family": BASE.families, "grade": GRADES, "also": BASE.families},
    "CopperStrip": {"rating": BASE.copper_strip},
    "SymptomQuestion": {"symptoms": BASE.by_id(SymptomRow)},
    "JugQuestion": {"shelf_ref": SHOP.shelf},
    "FillQuestion": {
        "unanswerable": POINTERS,
        "duty": BASE.duties,
        "box_ref": SHOP.boxes,
        "box_kind": BASE.ids("box_kinds"),
    },
    "DrainFluid": {"family": BASE.families},
    "ShiftQuestion": {"facing": BASE.facings, "fluid": BASE.lubricant_rows},
}
IDS_OF_PARAMETERS: dict[str, Iterable[str]] = {
    "facing": BASE.facings,
    "other_facing": BASE.facings,
    "body": BASE.bodies,
    "duty": BASE.duties,
    "box_kind": BASE.ids("box_kinds"),
    **{f"{of}family": BASE.families for of in ("", "service_", "ring_fluid_", "in_it_", "old_", "new_")},
    **{f"{of}grade": GRADES for of in ("", "service_", "ring_fluid_", "in_it_", "old_", "new_")},
    **{f"{of}also": BASE.families for of in ("", "old_", "new_")},
    **{f"{of}copper_strip_rating": BASE.copper_strip for of in ("", "old_", "new_")},
    "symptoms": BASE.by_id(SymptomRow),
    "shelf_ref": SHOP.shelf,
    "unanswerable": POINTERS,
    "slug": KINDS,
    "box_ref": SHOP.boxes,
    "fluid": BASE.lubricant_rows,
}


def narrowed(document: dict[str, Any]) -> dict[str, Any]:
    """The document with open ids narrowed to the known ones, codes of errors to those it lists, and fewer examples."""
    code = document["components"]["schemas"]["ProblemError"]["properties"]["code"]
    code["enum"] = code["x-extensible-enum"]
    for model, fields in IDS_OF_FIELDS.items():
        properties = document["components"]["schemas"][model]["properties"]
        properties.update({name: only(properties[name], ids) for name, ids in fields.items()})
    for path, operations in document["paths"].items():
        for operation in operations.values():
            for parameter in operation.get("parameters", []):
                if (ids := ids_of_parameter(path, parameter["name"])) is not None:
                    parameter["schema"] = only(parameter["schema"], ids)
    for label, every in SPARED.items():
        body = document["paths"][label.removeprefix("POST ")]["post"]["requestBody"]["content"]["application/json"]
        body["examples"] = dict(islice(body["examples"].items(), None, None, every))
    return document


def ids_of_parameter(path: str, name: str) -> Iterable[str] | None:
    """The ids a parameter may hold, None when it holds no id."""
    if name != "id":
        return IDS_OF_PARAMETERS.get(name)
    table = path.split("/")[-2]
    made = {
        "grades": ("75w-90", "30"),
        "rules": tuple(rule.id for rule in RULES),
        "boxes": SHOP.boxes,
        "shelf": SHOP.shelf,
        "changes": [change.id for change in BASE.changes],
    }
    return made[table] if table in made else BASE.ids(table.replace("-", "_"))


def only(schema: dict[str, Any], ids: Iterable[str]) -> dict[str, Any]:
    """The schema of an id or of a list of ids, narrowed; an id that may be null stays so."""
    if "items" in schema:
        return {**schema, "items": only(schema["items"], ids)}
    known = [{"enum": list(ids)}] if ids else []
    shown = {"examples": schema["examples"]} if "examples" in schema else {}
    return shown | ({"anyOf": [*known, {"type": "null"}]} if "anyOf" in schema else known[0])


app = create_app(Settings(allowed_hosts=("testserver",)), BASE)
contract = schemathesis.openapi.from_dict(narrowed(document(app)), config=SchemathesisConfig.from_dict(CONFIG))
contract.app = app

# What OpenAPI cannot say: the first of these fields must be the larger one, a list of radii has one for each cone, and
# in a link some fields mean nothing without another.
LARGER_AND_SMALLER = (
    *((f"{of}kv40_mm2_s", f"{of}kv100_mm2_s") for of in ("", "old_", "new_")),
    *(("capacity_l", litres) for litres in ("drained_l", "top_up_l")),
)
NEEDED = {
    "brookfield_temperature_c": "brookfield_viscosity_mpa_s",
    "brookfield_viscosity_mpa_s": "brookfield_temperature_c",
    **dict.fromkeys(("copper_strip_temperature_c", "copper_strip_hours"), "copper_strip_rating"),
}


def as_number(value: Any) -> float | None:
    """A number, as JSON has it or as text in a link; None for anything else."""
    try:
        return None if isinstance(value, bool) else float(value)
    except (TypeError, ValueError):
        return None


def with_capacity_of_the_box(question: dict[str, Any]) -> dict[str, Any]:
    """A question with what its box of the shop holds, where it does not say so itself."""
    box = question.get("question")
    named = question.get("box_ref") or (box.get("box_ref") if isinstance(box, dict) else None)
    known = SHOP.boxes.get(named) if isinstance(named, str) else None
    if known is None or question.get("capacity_l") is not None:
        return question
    return {**question, "capacity_l": known.capacity_l}


def holds_together(value: Any) -> bool:
    """Whether no two numbers in a question contradict each other."""
    if isinstance(value, list):
        return all(map(holds_together, value))
    if not isinstance(value, dict):
        return True
    value = with_capacity_of_the_box(value)
    radii, cones = value.get("mean_radius_mm"), as_number(value.get("cones"))
    if isinstance(radii, list) and cones is not None and len(radii) != cones:
        return False
    for name in value:
        of, needed = next(((of, name[len(of) :]) for of in ("old_", "new_") if name.startswith(of)), ("", name))
        if needed in NEEDED and value[name] is not None and value.get(f"{of}{NEEDED[needed]}") is None:
            return False
    pairs = [(as_number(value.get(larger)), as_number(value.get(smaller))) for larger, smaller in LARGER_AND_SMALLER]
    numbers = [(larger, smaller) for larger, smaller in pairs if larger is not None and smaller is not None]
    return all(larger > smaller for larger, smaller in numbers) and all(map(holds_together, value.values()))


@schemathesis.serializer(LINES)
def as_lines(context: schemathesis.SerializationContext, body: Any) -> bytes:
    """The body of a batch in lines: text, or bytes in the wrapper of the generator."""
    return body.encode() if isinstance(body, str) else bytes(getattr(body, "data", body))


made: Counter[tuple[str, str]] = Counter()


@contract.hook
def filter_case(context: schemathesis.HookContext, case: schemathesis.Case) -> bool:
    """Leave out questions that contradict themselves, lines that are meant to be wrong, and most of very many."""
    label, phase = case.operation.label, case.meta.phase.name
    made[label, phase] += 1
    if phase == "coverage" and made[label, phase] > ALWAYS and made[label, phase] % (EVERY * SPARED.get(label, 1)):
        return False
    if case.media_type == LINES and case.meta.generation.mode.is_negative:
        return False
    return holds_together(case.body) and holds_together(dict(case.query or {}))


@contract.parametrize()
def test_every_operation_keeps_its_promises(case: schemathesis.Case) -> None:
    case.call_and_validate(timeout=PATIENCE_S)
