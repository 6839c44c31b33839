"""Every way the unknowns of a question could turn out, written out one by one, each with its weight.

It knows nothing of how an answer is worked out: it writes out each fully stated question that a partly stated one
could mean, weighs it from the tables by itself, and has each judged by itself.
"""

from collections.abc import Callable, Iterator, Mapping
from functools import lru_cache
from itertools import product
from math import prod
from typing import Any, NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.judging.judgement import Judgement
from knowledge.loading.custom_rows import BoxKindRow, HowOftenRow

RING_FIELDS = ("facing", "body", "cones", "condition")
# What hangs together; whatever else is unknown is weighed by itself.
TOGETHER = (
    (*RING_FIELDS, "rings", "yellow_metal"),
    ("final_drive", "limited_slip"),
    ("wet_clutch",),
    ("coldest_start_c",),
    ("duty",),
)
TOLD_BY_KIND = {"facing": "facing_percent", "final_drive": "final_drive_percent", "duty": "duty_percent"}
Question = dict[str, Any]


class Case(NamedTuple):
    """One way the unknowns could turn out: a fully stated question, what was replied, its weight, how it is judged."""

    question: Question
    replies: dict[str, Any]
    weight: float
    judgement: Judgement


def every_case(question: Question, base: KnowledgeBase, judge: Callable[..., Judgement]) -> list[Case]:
    """Each way a question could turn out, once; all weigh 1 together."""
    found = []
    for parts in product(*(_weighed(names, question, base) for names in TOGETHER)):
        replies = {pointer: value for part, _ in parts for pointer, value in part.items()}
        full = filled_in(question, replies, base)
        found.append(Case(full, replies, prod(weight for _, weight in parts), judge(**full)))
    return found


def open_values(question: Question, base: KnowledgeBase) -> dict[str, list[Any]]:
    """Pointer of each field that is not stated, with the values on its list; the sump follows the duty."""
    rings = question.get("rings")
    values = {}
    if rings is None:
        values["/rings"] = tried(base, "rings")
        values |= {f"/rings/0/{name}": tried(base, name) for name in RING_FIELDS[1:]}
    for name in RING_FIELDS:
        for index, ring in enumerate(rings or ()):
            is_made_of_facing = name == "body" and ring["facing"] and base.facings[ring["facing"]].body
            if ring[name] is None and not is_made_of_facing:
                values.setdefault(f"/rings/{index}/{name}", tried(base, name))
                break
    for name in ("yellow_metal", "final_drive", "limited_slip", "wet_clutch", "coldest_start_c", "duty"):
        if question.get(name) is None:
            values[f"/{name}"] = tried(base, name)
    return values


def tried(base: KnowledgeBase, field: str) -> list[Any]:
    """The values on the stated list of a field."""
    texts = [row.value for row in base.plausible_values if row.field == field]
    if field in ("yellow_metal", "limited_slip", "wet_clutch"):
        return [text == "true" for text in texts]
    return [{"cones": int, "coldest_start_c": float}.get(field, str)(text) for text in texts]


def kind_shares(question: Question, base: KnowledgeBase) -> dict[str, float]:
    """How likely each kind of box is after Bayes, from the share of callers and what is stated of the box."""
    stated = {name: question.get(name) for name in ("final_drive", "duty") if question.get(name)}
    rings = question.get("rings")
    facings = [ring["facing"] for ring in rings or () if ring["facing"]]
    if facings or rings == []:
        stated["facing"] = most_delicate(facings, base)
    asked = question.get("box_kind")
    rows = [row for row in base.rows(BoxKindRow) if row.callers_percent is not None]
    rows = [row for row in rows if asked in (None, row.id, row.layout)]
    told = {
        row.id: row.callers_percent
        * prod(getattr(row, TOLD_BY_KIND[name]).get(value, 0) / 100 for name, value in stated.items())
        for row in rows
    }
    whole = sum(told.values())
    return {id: share / whole if whole else 1 / len(told) for id, share in told.items()}


def most_delicate(facings: list[str], base: KnowledgeBase) -> str:
    """The facing that decides; none without rings."""
    return max(facings, key=lambda facing: base.facings[facing].delicacy, default="none")


def _weighed(names: tuple[str, ...], question: Question, base: KnowledgeBase) -> list[tuple[dict[str, Any], float]]:
    """Each way some fields that hang together could turn out.

    What the trade never meets is left out, unless nothing else is left; that is then all of one weight.
    """
    values = {at: found for at, found in open_values(question, base).items() if at.rsplit("/", 1)[1] in names}
    choices = [dict(zip(values, choice, strict=True)) for choice in product(*values.values())]
    seen: list[Question] = []
    found = []
    for choice in choices:
        full = filled_in(question, choice, base)
        if full not in seen and _can_occur(names, question, full, base):
            seen.append(full)
            found.append((choice, prod(_factors(names, question, full, base))))
    met = [(choice, weight) for choice, weight in found if weight] or [(choice, 1.0) for choice, _ in found]
    whole = sum(weight for _, weight in met)
    return [(choice, weight / whole) for choice, weight in met]


def _factors(names: tuple[str, ...], question: Question, full: Question, base: KnowledgeBase) -> Iterator[float]:
    """How often the trade meets what is open, and what is stated beside it, in a way the box could be."""
    for name in ("final_drive", "duty"):
        if name in names and question.get(name) is None:
            yield _of_kinds(name, full[name], question, base)
    if "limited_slip" in names:
        yield _percent("limited_slip", full["limited_slip"], full["final_drive"], base)
    for name in ("wet_clutch", "coldest_start_c"):
        if name in names and question.get(name) is None:
            yield _percent(name, full[name], question.get("box_kind"), base)
    if "rings" in names:
        yield from _factors_of_rings(question, full, base)


def _factors_of_rings(question: Question, full: Question, base: KnowledgeBase) -> Iterator[float]:
    before, after = question.get("rings"), full["rings"]
    open_place = next((at for at, ring in enumerate(before or ()) if ring["facing"] is None), None)
    is_open = before is None or open_place is not None
    if is_open:
        facing = after[open_place or 0]["facing"] if after else "none"
        yield _of_kinds("facing", facing, question, base)
    else:
        facing = most_delicate([ring["facing"] for ring in after], base)
    if facing != "none":
        # What is stated of the rings that may be of the facing speaks for it; rings that lack a part are alike in it.
        spoken = [old for old in before or () if is_open and old["facing"] in (None, facing)]
        for name in RING_FIELDS[1:]:
            lacking = (new[name] for new, old in zip(after, before or [{}], strict=True) if old.get(name) is None)
            stated = (old[name] for old in spoken if old[name] is not None)
            value = next(lacking, None) or next(stated, None)
            if name == "body" and (own := base.facings[facing].body):
                yield float(value in (None, own))
            elif value is not None:
                yield _percent(name, value, facing, base)
    if not has_copper(after, base):
        copper = sum(_percent("body", id, facing, base) for id, row in base.bodies.items() if row.copper_alloy)
        copper = copper if facing != "none" else 0.0
        yellow = (_percent("yellow_metal", True, facing, base) - copper) / (1 - copper)
        yield yellow if full["yellow_metal"] else 1 - yellow


def _of_kinds(name: str, value: str, question: Question, base: KnowledgeBase) -> float:
    rows = {row.id: getattr(row, TOLD_BY_KIND[name]) for row in base.rows(BoxKindRow)}
    return sum(share * rows[id].get(value, 0) / 100 for id, share in kind_shares(question, base).items())


def _percent(field: str, value: Any, given: str | None, base: KnowledgeBase) -> float:
    """The share of how_often.csv, for what is given of the box where it tells that apart."""
    told = _told(base)
    text = str(value).lower() if isinstance(value, bool) else f"{value:g}" if isinstance(value, float) else str(value)
    of = told.get((field, given)) or told.get((field, None))
    return of.get(text, 0.0) / 100 if of else 1.0


@lru_cache(maxsize=2)
def _told(base: KnowledgeBase) -> Mapping[tuple[str, str | None], dict[str, float]]:
    told: dict[tuple[str, str | None], dict[str, float]] = {}
    for row in base.rows(HowOftenRow):
        told.setdefault((row.field, row.given_value), {})[row.value] = row.percent
    return told


def filled_in(question: Question, replies: dict[str, Any], base: KnowledgeBase) -> Question:
    """The question with every reply; rings that lack the same field are alike in it."""
    by_name = {pointer.rsplit("/", 1)[1]: value for pointer, value in replies.items()}
    full = question | {name: value for name, value in by_name.items() if name not in (*RING_FIELDS, "rings")}
    rings = question.get("rings")
    if rings is None and "/rings" in replies:
        rings = [] if replies["/rings"] == "none" else [dict.fromkeys(RING_FIELDS)]
        by_name["facing"] = replies["/rings"]
    full["rings"] = rings and [_ring(ring, by_name, base) for ring in rings]
    return full


def _ring(ring: dict[str, Any], replies: dict[str, Any], base: KnowledgeBase) -> dict[str, Any]:
    facing = ring["facing"] or replies.get("facing")
    body = ring["body"] or (facing and base.facings[facing].body) or replies.get("body")
    parts = {name: ring[name] or replies.get(name) for name in ("cones", "condition")}
    return ring | {"facing": facing, "body": body} | parts


def _can_occur(names: tuple[str, ...], question: Question, full: Question, base: KnowledgeBase) -> bool:
    """A copper-alloy ring is yellow metal; a limited-slip clutch pack sits in a final drive."""
    if "rings" in names:
        is_contradicted = question.get("yellow_metal") is False and has_copper(question.get("rings") or (), base)
        return is_contradicted or bool(full["yellow_metal"]) or not has_copper(full["rings"], base)
    if "final_drive" in names:
        is_stated = question.get("final_drive") is not None and question.get("limited_slip") is not None
        return is_stated or not full["limited_slip"] or full["final_drive"] != "none"
    return True


def has_copper(rings: Any, base: KnowledgeBase) -> bool:
    """Whether a ring is of a copper alloy, as far as is known."""
    parts = [base.facings[ring["facing"]] for ring in rings if ring["facing"]]
    parts += [base.bodies[ring["body"]] for ring in rings if ring["body"]]
    return any(part.copper_alloy for part in parts)
