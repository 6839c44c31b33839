"""What is still open, in words: when another class leads or none does, and when a class is the fill."""

from collections.abc import Callable, Container, Iterator, Sequence
from functools import partial
from itertools import islice, product
from typing import Any

from knowledge.box.axes import OpenField
from knowledge.judging.condition import values_in_words
from knowledge.judging.judgement import Judgement
from knowledge.judging.rank import Lead
from knowledge.text import Said, listed, value_text

MOST_UNLESS = 3
ONLY_THE_BOOK = "then only what the book names"
NOT_THAT_LINE = "then ask whether that line is the axle's"


def unless(judgement: Judgement) -> tuple[str, ...]:
    """The rare cases in which another class leads or none does, the likeliest first; none while it depends."""
    if judgement.lead.outcome != "settled":
        return ()
    return tuple(islice(_other_leads(judgement, is_told=partial(_is_other, judgement)), MOST_UNLESS))


def unless_safest(judgement: Judgement) -> tuple[str, ...]:
    """When what does least harm does harm all the same: where nothing leads."""
    told = _other_leads(judgement, is_told=_nothing_leads)
    return tuple(Said(text.partition(":")[0], "nothing-leads", **text.params) for text in islice(told, MOST_UNLESS))


def _nothing_leads(lead: Lead) -> bool:
    return lead.leader is None


def _other_leads(judgement: Judgement, is_told: Callable[[Lead], bool]) -> Iterator[Said]:
    """Where another class leads or none does: with one value of a field, then with values of two and not of one."""
    told, found = set(), []
    for field, leads in judgement.leads_if.by_field:
        of_leader: dict[int | None, list[tuple[Any, Lead, float]]] = {}
        for value, (lead, weight) in zip(field.values, leads, strict=True):
            if weight and is_told(lead):
                of_leader.setdefault(_group(lead, judgement), []).append((value, lead, weight))
                told.add((field.name, value, _group(lead, judgement)))
        for cases in of_leader.values():
            values = [value for value, *_ in cases]
            found.append((-sum(weight for *_, weight in cases), _when(judgement, cases[0][1], (field, values))))
    found.sort(key=lambda item: round(item[0], 9))
    yield from (text for _, text in found)
    yield from _other_leads_of_pairs(judgement, is_told, told)


def _other_leads_of_pairs(
    judgement: Judgement, is_told: Callable[[Lead], bool], told: Container[Any]
) -> Iterator[Said]:
    found = []
    for first, second, leads in judgement.leads_if.by_pair():
        for (one, other), (lead, weight) in zip(product(first.values, second.values), leads, strict=True):
            if not weight or not is_told(lead):
                continue
            group = _group(lead, judgement)
            if (first.name, one, group) not in told and (second.name, other, group) not in told:
                found.append((-weight, _when(judgement, lead, (first, (one,)), (second, (other,)))))
    found.sort(key=lambda item: round(item[0], 9))
    yield from (text for _, text in found)


def _is_other(judgement: Judgement, lead: Lead) -> bool:
    now = judgement.lead.leader
    return lead.leader is None or (now is not None and _group(lead, judgement) != judgement.ranking.groups[now])


def _group(lead: Lead, judgement: Judgement) -> int | None:
    return None if lead.leader is None else int(judgement.ranking.groups[lead.leader])


def _when(judgement: Judgement, lead: Lead, *values: tuple[OpenField, Sequence[Any]]) -> Said:
    """`the rings are new: then GL-4 75W-80`, of values of one field or of two."""
    base = judgement.base
    phrases = (base.unknowns[field.name].phrase.format(values=values_in_words(field, of, base)) for field, of in values)
    nothing = NOT_THAT_LINE if lead.outcome == "conflict" else ONLY_THE_BOOK
    leader = None if lead.leader is None else judgement.lubricants[lead.leader]
    text = f"{listed(phrases, 'and')}: {f'then {leader.short_name}' if leader else nothing}"
    fields = {
        f"{before}{name}": told
        for before, (field, of) in zip(("", "and_"), values, strict=False)
        for name, told in (("field", field.name), ("values", tuple(map(value_text, of))))
    }
    return Said(text, "another-leads", **fields, then=leader.id if leader else nothing)


# What goes with a kind of ring, and is no reason for a fluid by itself.
NO_REASON = ("body", "cones", "condition", "yellow_metal")


def when_it_leads(judgement: Judgement, index: int) -> str | None:
    """The values of one field with which a class leads, in words; None where no field by itself makes it lead."""
    groups, best = judgement.ranking.groups, None
    for field, leads in judgement.leads_if.by_field:
        if field.name in NO_REASON:
            continue
        of = [
            (value, weight)
            for value, (lead, weight) in zip(field.values, leads, strict=True)
            if lead.leader is not None and groups[lead.leader] == groups[index]
        ]
        weight = sum(weight for _, weight in of)
        if of and len(of) < len(field.values) and (best is None or weight > best[0]):
            phrase = judgement.base.unknowns[field.name].phrase
            best = weight, phrase.format(values=values_in_words(field, [value for value, _ in of], judgement.base))
    return best and best[1]
