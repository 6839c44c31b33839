"""What is unknown is tried in every way it can turn out, and the answer is the exact sum of those ways.

The reference here knows nothing of how the answer is worked out: it writes out every fully stated question
that a partly stated one could mean, asks each by itself, and adds up.
"""

from collections.abc import Callable, Iterator
from itertools import product
from typing import Any, NamedTuple

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from knowledge.base import KnowledgeBase
from knowledge.fill.answer import Candidate, FullFillAnswer
from knowledge.fill.classes import SHOWN

WORST_FIRST = ("excludes", "cautions", "no-data", "supports")
SERVES = ("fits", "fits-with-care")
LAW = settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
pytestmark = pytest.mark.filterwarnings("ignore:Generating overly large repr")  # of the knowledge base


class World(NamedTuple):
    """One way the unknown could turn out: a fully stated question, what was replied, and its answer."""

    question: dict[str, Any]
    replies: dict[str, Any]
    answer: FullFillAnswer


def tried(base: KnowledgeBase, field: str) -> list[Any]:
    """The values on the stated list of a field."""
    texts = [row.value for row in base.plausible_values if row.field == field]
    if field in ("yellow_metal", "limited_slip", "wet_clutch"):
        return [text == "true" for text in texts]
    return [{"cones": int, "coldest_start_c": float}.get(field, str)(text) for text in texts]


def open_values(question: dict[str, Any], base: KnowledgeBase) -> dict[str, list[Any]]:
    """Pointer of each field that is not stated, with the values on its list; the sump follows the duty."""
    rings = question["rings"]
    values = {}
    if rings is None:
        values["/rings"] = tried(base, "rings")
        values |= {f"/rings/0/{name}": tried(base, name) for name in ("body", "cones", "condition")}
    for name in ("facing", "body", "cones", "condition"):
        for index, ring in enumerate(rings or ()):
            made_of_facing = name == "body" and ring["facing"] and base.facings[ring["facing"]].body
            if ring[name] is None and not made_of_facing:
                values.setdefault(f"/rings/{index}/{name}", tried(base, name))
                break
    for name in ("yellow_metal", "final_drive", "limited_slip", "wet_clutch", "coldest_start_c", "duty"):
        if question[name] is None:
            values[f"/{name}"] = tried(base, name)
    if question["sump_hot_c"] is None:
        values["/sump_hot_c"] = ["low", "high"]
    return values


def stated(question: dict[str, Any], replies: dict[str, Any], base: KnowledgeBase) -> dict[str, Any]:
    """The question with every reply filled in; rings that lack the same field are alike in it."""
    by_name = {pointer.rsplit("/", 1)[1]: value for pointer, value in replies.items()}
    full = {name: by_name[name] if question[name] is None and name in by_name else question[name] for name in question}
    if full["sump_hot_c"] in ("low", "high"):
        full["sump_hot_c"] = getattr(base.duties[full["duty"]], f"sump_{full['sump_hot_c']}_c")
    rings = question["rings"]
    if rings is None:
        rings = [] if replies["/rings"] == "none" else [dict.fromkeys(("facing", "body", "cones", "condition"))]
        by_name["facing"] = replies["/rings"]
    full["rings"] = [_ring(ring, by_name, base) for ring in rings]
    return full


def _ring(ring: dict[str, Any], replies: dict[str, Any], base: KnowledgeBase) -> dict[str, Any]:
    facing = ring["facing"] or replies["facing"]
    body = ring["body"] or base.facings[facing].body or replies["body"]
    return {"facing": facing, "body": body} | {name: ring[name] or replies[name] for name in ("cones", "condition")}


def can_occur(question: dict[str, Any], full: dict[str, Any], base: KnowledgeBase) -> bool:
    """A copper-alloy ring is yellow metal; a limited-slip clutch pack sits in a final drive."""
    parts = [part for ring in full["rings"] for part in (base.facings[ring["facing"]], base.bodies[ring["body"]])]
    copper = any(part.copper_alloy for part in parts)
    if copper and not full["yellow_metal"] and not (question["yellow_metal"] is False and names_copper(question, base)):
        return False
    is_stated = question["final_drive"] is not None and question["limited_slip"] is not None
    return is_stated or not full["limited_slip"] or full["final_drive"] != "none"


def names_copper(question: dict[str, Any], base: KnowledgeBase) -> bool:
    """Whether the caller names a ring of a copper alloy, and so contradicts a sump without yellow metal."""
    named = [base.facings[ring["facing"]] for ring in question["rings"] or () if ring["facing"]]
    named += [base.bodies[ring["body"]] for ring in question["rings"] or () if ring["body"]]
    return any(part.copper_alloy for part in named)


def every_world(question: dict[str, Any], base: KnowledgeBase, ask: Callable[..., FullFillAnswer]) -> Iterator[World]:
    """Each way the question could turn out, once, by itself."""
    values = open_values(question, base)
    seen = []
    for choice in product(*values.values()):
        replies = dict(zip(values, choice))
        full = stated(question, replies, base)
        if can_occur(question, full, base) and full not in seen:
            seen.append(full)
            if "/sump_hot_c" in replies:
                replies["/sump_hot_c"] = full["sump_hot_c"]
            yield World(full, replies, ask(**full))


def folded(verdicts: list[str]) -> str:
    """One verdict from those of every world."""
    if all(verdict == "fits" for verdict in verdicts):
        return "fits"
    if all(verdict in SERVES for verdict in verdicts):
        return "fits-with-care"
    return "depends" if any(verdict in SERVES for verdict in verdicts) else "does-not-fit"


def by_class(answer: FullFillAnswer) -> dict[str, Candidate]:
    """The candidates by the id of their class."""
    return {item.lubricant.id: item for item in answer.candidates}


def leader(answer: FullFillAnswer) -> str | None:
    """The class at the top, if any."""
    return next((item.lubricant.id for item in answer.candidates if item.rank == 1), None)


def settled_share(worlds: list[World], pointer: str) -> float:
    """Of the undecided classes, the share that knowing one field decides, over every world."""
    verdicts = [{id: item.verdict for id, item in by_class(world.answer).items()} for world in worlds]
    undecided = [id for id in verdicts[0] if folded([row[id] for row in verdicts]) == "depends"]
    decided = 0
    for value in {world.replies[pointer] for world in worlds}:
        left = [row for row, world in zip(verdicts, worlds) if world.replies[pointer] == value]
        decided += len(left) * sum(folded([row[id] for row in left]) != "depends" for id in undecided)
    return decided / (len(worlds) * len(undecided)) if undecided else 0.0


@LAW
@given(data=st.data())
def test_a_partly_stated_question_is_the_exact_sum_of_its_worlds(data, partly_stated_questions, base, ask) -> None:
    question = data.draw(partly_stated_questions)
    answer = ask(**question)
    worlds = list(every_world(question, base, ask))
    assert answer.worlds.tried == len(worlds)
    parts = [by_class(world.answer) for world in worlds]
    for id, item in by_class(answer).items():
        verdicts = [part[id].verdict for part in parts]
        assert item.verdict == folded(verdicts)
        assert item.share_of_worlds == pytest.approx(sum(verdict in SERVES for verdict in verdicts) / len(worlds))
        assert_figures_span(item, [part[id] for part in parts])
        assert_findings_are_the_worst(item, [part[id] for part in parts])


def assert_figures_span(whole: Candidate, parts: list[Candidate]) -> None:
    for name in SHOWN:
        spans = [span for part in parts if (span := getattr(part.figures, name)) is not None]
        span = getattr(whole.figures, name)
        assert (span is None) == (not spans)
        if span is not None:
            assert span.min == pytest.approx(min(part.min for part in spans), rel=1e-9)
            assert span.max == pytest.approx(max(part.max for part in spans), rel=1e-9)
            assert span.screening == any(part.screening for part in spans)


def assert_findings_are_the_worst(whole: Candidate, parts: list[Candidate]) -> None:
    by_rule = [{finding.rule: finding for finding in part.findings} for part in parts]
    assert {rule for found in by_rule for rule, one in found.items() if one.effect != "supports"} <= {
        finding.rule for finding in whole.findings
    }
    for finding in whole.findings:
        parts_said = [found.get(finding.rule) for found in by_rule]
        # A rule that has nothing to judge in a world is not among what is found there: it supports.
        effects = [said.effect if said else "supports" for said in parts_said]
        worst = min(effects, key=WORST_FIRST.index)
        assert finding.effect == worst
        assert finding.share_of_worlds == pytest.approx(effects.count(worst) / len(effects))
        bites = [said is not None and said.effect == worst for said in parts_said]
        assert (finding.only_if is None) == (all(bites) or not any(bites))


def names_no_class(service_data: dict[str, str | None] | None, base: KnowledgeBase) -> bool:
    """Whether service data names a family at a grade that none of its classes has."""
    given = service_data or {}
    family, grade = given.get("family"), given.get("grade")
    classes = {(row.family, row.grade) for row in base.lubricant_rows.values()}
    return None not in (family, grade) and (family, grade) not in classes


@LAW
@given(data=st.data())
def test_the_outcome_is_settled_when_one_class_leads_in_every_world(data, partly_stated_questions, base, ask) -> None:
    question = data.draw(partly_stated_questions)
    answer = ask(**question)
    leaders = {leader(world.answer) for world in every_world(question, base, ask)}
    if leaders == {None}:
        assert answer.outcome == "none-suitable"
    elif names_no_class(question["service_data"], base):  # then nothing unknown changes what is followed
        assert answer.outcome == "settled"
    elif len(leaders) == 1:
        assert answer.outcome == "settled"
        assert leader(answer) in leaders
    else:
        assert answer.outcome == "depends"


@LAW
@given(data=st.data())
def test_what_a_reply_settles_is_counted_over_every_world(data, partly_stated_questions, base, ask) -> None:
    question = data.draw(partly_stated_questions)
    answer = ask(**question)
    worlds = list(every_world(question, base, ask))
    for item in answer.ask_next:
        if question["rings"] is None and item.pointer.startswith("/rings/0/"):
            continue  # a box without rings has no body, cones or condition to reply with
        assert item.settles == pytest.approx(settled_share(worlds, item.pointer))


@LAW
@given(data=st.data())
def test_the_safest_class_is_refused_in_no_world(data, partly_stated_questions, base, ask) -> None:
    question = {**data.draw(partly_stated_questions), "service_data": None}
    answer = ask(**question)
    parts = [by_class(world.answer) for world in every_world(question, base, ask)]
    never_refused = {id for id in parts[0] if all(part[id].verdict in SERVES for part in parts)}
    if answer.safest_if_unanswered is None:
        assert answer.outcome != "depends" or not never_refused
    else:
        assert answer.outcome == "depends"
        assert answer.safest_if_unanswered.lubricant.id in never_refused


@LAW
@given(data=st.data())
def test_the_answer_says_which_values_were_tried(data, partly_stated_questions, base, ask) -> None:
    question = data.draw(partly_stated_questions)
    worlds = list(every_world(question, base, ask))
    said = {item.pointer: len(set(item.values)) for item in ask(**question).worlds.over}
    counts = {pointer: len({world.replies[pointer] for world in worlds}) for pointer in open_values(question, base)}
    assert said == {pointer: count for pointer, count in counts.items() if count > 1}


def test_a_fully_stated_question_is_one_world(ask, box) -> None:
    answer = ask(**box("paper"))
    assert answer.worlds.tried == 1
    assert answer.worlds.over == ()
    assert all(finding.only_if is None for item in answer.candidates for finding in item.findings)


def test_yellow_metal_is_not_asked_of_a_box_with_bronze_rings(ask, box) -> None:
    answer = ask(**box("bronze", yellow_metal=None))
    assert "/yellow_metal" not in {item.pointer for item in answer.worlds.over}


def test_no_clutch_pack_is_tried_where_there_is_no_final_drive(ask, box) -> None:
    assert ask(**box("paper", limited_slip=None, final_drive="none")).worlds.tried == 1
    assert ask(**box("paper", limited_slip=None, final_drive="helical")).worlds.tried == 2


def test_a_finding_says_for_which_rings_it_bites(ask, box, says) -> None:
    answer = ask(**box("paper", facing=None))
    finding = says(answer, "gl-4-75w-90", "lined-rings-burn-under-thick-gear-oil")
    assert finding.effect == "excludes"
    assert "paper" in finding.only_if and "carbon" in finding.only_if
    assert "bronze" not in finding.only_if


def test_a_finding_that_bites_with_any_ring_says_so_in_a_few_words(ask, box, says) -> None:
    answer = ask(**box("paper", rings=None, yellow_metal=True))
    finding = says(answer, "gl-4-80w-90", "cold-first-shifts-need-the-film-wiped")
    assert finding.effect == "cautions"
    assert len(finding.only_if) <= 60


def test_no_bronze_ring_body_is_tried_where_the_caller_says_no_yellow_metal(ask, box) -> None:
    answer = ask(**box("paper", body=None, yellow_metal=False))
    bodies = next((item.values for item in answer.worlds.over if item.pointer == "/rings/0/body"), ())
    assert "bronze" not in bodies
    assert not [item for item in answer.question.assumed if item.pointer == "/yellow_metal"]
