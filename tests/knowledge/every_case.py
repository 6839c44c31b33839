"""Every way the unknowns of a question could turn out, written out one by one.

It knows nothing of how an answer is worked out: it writes out each fully stated question that a partly stated one
could mean, and has each judged by itself.
"""

from collections.abc import Callable, Iterator
from itertools import product
from typing import Any, NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.judging.judgement import Judgement

SERVES = ("fits", "fits-with-care")
RING_FIELDS = ("facing", "body", "cones", "condition")


class Case(NamedTuple):
    """One way the unknowns could turn out: a fully stated question, what was replied, and how it is judged."""

    question: dict[str, Any]
    replies: dict[str, Any]
    judgement: Judgement

    def serves(self, place: int) -> bool:
        """Whether a class serves here."""
        return self.judgement.verdict(place) in SERVES


def every_case(question: dict[str, Any], base: KnowledgeBase, judge: Callable[..., Judgement]) -> list[Case]:
    """Each way a question could turn out, once."""
    return [Case(full, replies, judge(**full)) for full, replies in _stated(question, base)]


def folded(verdicts: list[str]) -> str:
    """One verdict from those of every case."""
    if all(verdict == "fits" for verdict in verdicts):
        return "fits"
    if all(verdict in SERVES for verdict in verdicts):
        return "fits-with-care"
    return "depends" if any(verdict in SERVES for verdict in verdicts) else "does-not-fit"


def open_values(question: dict[str, Any], base: KnowledgeBase) -> dict[str, list[Any]]:
    """Pointer of each field that is not stated, with the values on its list; the sump follows the duty."""
    rings = question["rings"]
    values = {}
    if rings is None:
        values["/rings"] = _tried(base, "rings")
        values |= {f"/rings/0/{name}": _tried(base, name) for name in RING_FIELDS[1:]}
    for name in RING_FIELDS:
        for index, ring in enumerate(rings or ()):
            is_made_of_facing = name == "body" and ring["facing"] and base.facings[ring["facing"]].body
            if ring[name] is None and not is_made_of_facing:
                values.setdefault(f"/rings/{index}/{name}", _tried(base, name))
                break
    for name in ("yellow_metal", "final_drive", "limited_slip", "wet_clutch", "coldest_start_c", "duty"):
        if question[name] is None:
            values[f"/{name}"] = _tried(base, name)
    if question["sump_hot_c"] is None:
        values["/sump_hot_c"] = ["low", "high"]
    return values


def _tried(base: KnowledgeBase, field: str) -> list[Any]:
    """The values on the stated list of a field."""
    texts = [row.value for row in base.plausible_values if row.field == field]
    if field in ("yellow_metal", "limited_slip", "wet_clutch"):
        return [text == "true" for text in texts]
    return [{"cones": int, "coldest_start_c": float}.get(field, str)(text) for text in texts]


def _stated(question: dict[str, Any], base: KnowledgeBase) -> Iterator[tuple[dict[str, Any], dict[str, Any]]]:
    values = open_values(question, base)
    seen = []
    for choice in product(*values.values()):
        replies = dict(zip(values, choice, strict=True))
        full = _filled_in(question, replies, base)
        if _can_occur(question, full, base) and full not in seen:
            seen.append(full)
            yield full, replies | ({"/sump_hot_c": full["sump_hot_c"]} if "/sump_hot_c" in replies else {})


def _filled_in(question: dict[str, Any], replies: dict[str, Any], base: KnowledgeBase) -> dict[str, Any]:
    """The question with every reply; rings that lack the same field are alike in it."""
    by_name = {pointer.rsplit("/", 1)[1]: value for pointer, value in replies.items()}
    full = {name: by_name.get(name) if value is None else value for name, value in question.items()}
    if full["sump_hot_c"] in ("low", "high"):
        full["sump_hot_c"] = getattr(base.duties[full["duty"]], f"sump_{full['sump_hot_c']}_c")
    rings = question["rings"]
    if rings is None:
        rings = [] if replies["/rings"] == "none" else [dict.fromkeys(RING_FIELDS)]
        by_name["facing"] = replies["/rings"]
    full["rings"] = [_ring(ring, by_name, base) for ring in rings]
    return full


def _ring(ring: dict[str, Any], replies: dict[str, Any], base: KnowledgeBase) -> dict[str, Any]:
    facing = ring["facing"] or replies["facing"]
    body = ring["body"] or base.facings[facing].body or replies["body"]
    return {"facing": facing, "body": body} | {name: ring[name] or replies[name] for name in ("cones", "condition")}


def _can_occur(question: dict[str, Any], full: dict[str, Any], base: KnowledgeBase) -> bool:
    """A copper-alloy ring is yellow metal; a limited-slip clutch pack sits in a final drive."""
    is_contradicted = question["yellow_metal"] is False and _has_copper(question["rings"] or (), base)
    if _has_copper(full["rings"], base) and not full["yellow_metal"] and not is_contradicted:
        return False
    is_stated = question["final_drive"] is not None and question["limited_slip"] is not None
    return is_stated or not full["limited_slip"] or full["final_drive"] != "none"


def _has_copper(rings: Any, base: KnowledgeBase) -> bool:
    parts = [base.facings[ring["facing"]] for ring in rings if ring["facing"]]
    parts += [base.bodies[ring["body"]] for ring in rings if ring["body"]]
    return any(part.copper_alloy for part in parts)
