"""What is still open, in words: when another class leads or none does, and when a class is the fill."""

from collections.abc import Iterator
from typing import Any

from knowledge.judging.condition import values_in_words
from knowledge.judging.judgement import Judgement
from knowledge.judging.rank import Lead
from knowledge.text import Said, value_text

MOST_UNLESS = 3

ONLY_THE_BOOK = "then only what the book names"

NOT_THAT_LINE = "then ask whether that line is the axle's"


def unless(judgement: Judgement) -> tuple[str, ...]:
    """The rare cases in which another class leads or none does, the likeliest first; none while it depends."""
    if judgement.lead.outcome != "settled":
        return ()
    return tuple(text for text, _ in _other_leads(judgement))[:MOST_UNLESS]


def unless_safest(judgement: Judgement) -> tuple[str, ...]:
    """When what does least harm does harm all the same: where nothing leads."""
    told = (text for text, lead in _other_leads(judgement) if lead.leader is None)
    return tuple(Said(text.partition(":")[0], "nothing-leads", **text.params) for text in told)[:MOST_UNLESS]


def _other_leads(judgement: Judgement) -> Iterator[tuple[Said, Lead]]:
    ranking, whole = judgement.ranking, judgement.lead
    found = []
    for field, leads in ranking.by_field:
        of_leader: dict[int | None, tuple[float, list[Any], Lead]] = {}
        for value, (lead, weight) in zip(field.values, leads, strict=True):
            is_other = lead.leader is None or (
                whole.leader is not None and ranking.groups[lead.leader] != ranking.groups[whole.leader]
            )
            if is_other and weight:
                group = None if lead.leader is None else int(ranking.groups[lead.leader])
                sum_of, values, first = of_leader.get(group, (0.0, [], lead))
                of_leader[group] = sum_of + weight, [*values, value], first
        for weight, values, lead in of_leader.values():
            phrase = judgement.base.unknowns[field.name].phrase
            words = phrase.format(values=values_in_words(field, values, judgement.base))
            nothing = NOT_THAT_LINE if lead.outcome == "conflict" else ONLY_THE_BOOK
            then = nothing if lead.leader is None else f"then {judgement.lubricants[lead.leader].short_name}"
            to = nothing if lead.leader is None else judgement.lubricants[lead.leader].id
            text = Said(
                f"{words}: {then}", "another-leads", field=field.name, values=tuple(map(value_text, values)), then=to
            )
            found.append((-weight, text, lead))
    found.sort(key=lambda item: round(item[0], 9))
    yield from ((text, lead) for _, text, lead in found)


# What goes with a kind of ring, and is no reason for a fluid by itself.
NO_REASON = ("body", "cones", "condition", "yellow_metal")


def when_it_leads(judgement: Judgement, index: int) -> str | None:
    """The values of one field with which a class leads, in words; None where no field by itself makes it lead."""
    ranking = judgement.ranking
    best = None
    for field, leads in ranking.by_field:
        if field.name in NO_REASON:
            continue
        of = [
            (value, weight)
            for value, (lead, weight) in zip(field.values, leads, strict=True)
            if lead.leader is not None and ranking.groups[lead.leader] == ranking.groups[index]
        ]
        weight = sum(weight for _, weight in of)
        if of and len(of) < len(field.values) and (best is None or weight > best[0]):
            phrase = judgement.base.unknowns[field.name].phrase
            best = weight, phrase.format(values=values_in_words(field, [value for value, _ in of], judgement.base))
    return best and best[1]
