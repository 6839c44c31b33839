"""What to ask next: the open fields whose replies change who leads, and what each reply leads to."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial
from typing import Any, NamedTuple

import numpy as np

from knowledge.base import KnowledgeBase
from knowledge.box.axes import WET_CLUTCH, Axis
from knowledge.box.cases import Cases
from knowledge.box.circumstances import knows_nothing
from knowledge.box.weights import BY_KIND, by_kind, how_often, kind_shares, kinds_within, stated_of_kind
from knowledge.judging.columns import Floats
from knowledge.judging.leads_if import LeadsIf
from knowledge.judging.rank import Lead, Ranking
from knowledge.loading.custom_rows import BoxKindRow

BOX_KIND, SERVICE_DATA = "box_kind", "service_data"


class PossibleReply(NamedTuple):
    """A value of an open field, and who would then lead; None where nothing does, or where only more would tell."""

    value: Any
    leader: int | None


@dataclass(frozen=True)
class OpenQuestion:
    """A question about an open field, and how much of the cases its replies are expected to bring to one leader.

    `then` is which lubricant leads after a reply of each of some values, worked out when they are shown.
    """

    name: str
    pointer: str
    settles: float
    values: tuple[Any, ...]
    then: Callable[[Sequence[Any]], Sequence[int | None]] = field(compare=False)

    @cached_property
    def replies(self) -> tuple[PossibleReply, ...]:
        """Its values, each with who would then lead."""
        return tuple(map(PossibleReply, self.values, self.then(self.values)))


class _Asked(NamedTuple):
    """A question with who leads after each reply and how likely that reply is."""

    name: str
    pointer: str
    values: tuple[Any, ...]
    leads: tuple[tuple[Lead, float], ...]


def open_questions(leads_if: LeadsIf) -> tuple[OpenQuestion, ...]:
    """The questions worth asking, the best first; none where the answer is settled or nothing leads.

    First what settles most for the least effort of callers who can answer it. While nothing is known of the box, what
    kind of box it is stands first and then what its book names.
    """
    ranking = leads_if.ranking
    question, base = ranking.cases.question, ranking.cases.base
    if ranking.whole.outcome != "depends":
        return ()
    found = []
    for asked in _of_fields(leads_if):
        if any(ranking.whole.differs(lead, ranking.groups) for lead, _ in asked.leads):
            settles = _settles(asked, ranking)
            leaders = {value: lead.leader for value, (lead, _) in zip(asked.values, asked.leads, strict=True)}
            then = partial(_each_of, leaders)
            one = OpenQuestion(asked.name, asked.pointer, settles, asked.values, then)
            found.append((_sooner(asked, settles, base), one))
    is_of_these_rings = not any(ring.replaced for ring in question.rings or ())
    if question.service_data is None and not ranking.cases.named.text and is_of_these_rings:
        found.append(_of_service_data(leads_if))
    is_first = partial(_opening, is_new=knows_nothing(question))
    found.sort(key=lambda pair: (is_first(pair[1].name), pair[0]))
    return tuple(one for _, one in found if one.pointer not in question.unanswerable)


def _each_of(leaders: Mapping[Any, int | None], values: Sequence[Any]) -> list[int | None]:
    return [leaders[value] for value in values]


def _opening(name: str, is_new: bool) -> int:
    order = (BOX_KIND, SERVICE_DATA)
    return order.index(name) if is_new and name in order else len(order)


def _sooner(asked: _Asked, settles: float, base: KnowledgeBase) -> tuple[float, float]:
    """The sort key of a question; of those that settle nothing, what leaves less open stands first."""
    row = base.unknowns[asked.name]
    ease = row.answerable_percent / (row.effort + base.limit("question-effort-at-least"))
    sure = sum(weight for lead, weight in asked.leads if lead.outcome != "depends")
    return -settles * ease, -sure * ease


def _settles(asked: _Asked, ranking: Ranking) -> float:
    """The weight of the cases not led by the leader that the replies are expected to bring to one leader."""
    groups, size = ranking.groups, ranking.lubricants.size
    now = -1 if ranking.whole.leader is None else groups[ranking.whole.leader]
    found = 0.0
    for lead, weight in asked.leads:
        if lead.leader is not None and groups[lead.leader] != now:
            found += weight * lead.share
        elif lead.leader is None:
            found += weight * float(lead.led[size:].sum() / lead.led.sum())
    return found


def _of_fields(leads_if: LeadsIf) -> Iterator[_Asked]:
    knows_rings = leads_if.cases.question.rings is not None
    for opened, leads in leads_if.by_field:
        # What a ring is like is asked once it is known that there are rings.
        if knows_rings or not opened.pointer.startswith("/rings/"):
            yield _Asked(opened.name, opened.pointer, opened.values, leads)
    yield from _of_kinds(leads_if)


def _of_kinds(leads_if: LeadsIf) -> Iterator[_Asked]:
    """What kind of box it is: the layouts, or of a layout that is known its eras."""
    cases = leads_if.cases
    question, base = cases.question, cases.base
    stated = stated_of_kind(question, base)
    rows = base.by_id(BoxKindRow)
    shares = kind_shares(question.box_kind, stated, base)
    before = _met(shares, base)
    shares = {id: share for id, share in shares.items() if share and _may_be(rows[id], cases)}
    whole = sum(shares.values())
    if question.box_kind is None:
        replies = dict.fromkeys(rows[id].layout or id for id in shares)
    else:
        replies = dict.fromkeys(shares)
    if len(replies) > 1:
        leads = leads_if.with_weights((_weights_of_kind(cases, id, before), id) for id in replies)
        met = [sum(shares.get(row.id, 0.0) for row in kinds_within(id, base)) / whole for id in replies]
        yield _Asked(BOX_KIND, "/box_kind", tuple(replies), tuple(zip(leads, met, strict=True)))


def _may_be(kind: BoxKindRow, cases: Cases) -> bool:
    """Whether a kind of box has, of each open field that it tells of, some value that was tried."""
    told = ((getattr(kind, BY_KIND[field.field]), field.values) for _, field in cases.open if field.field in BY_KIND)
    return all(any(met.get(value) for value in values) for met, values in told)


def _met(shares: Mapping[str, float], base: KnowledgeBase) -> dict[str, dict[str, float]]:
    """How often each value of each field that a kind of box tells of is met."""
    return {field: by_kind(field, shares, base) for field in BY_KIND}


def _weights_of_kind(cases: Cases, kind: str, before: Mapping[str, Mapping[str, float]]) -> list[Floats]:
    """The weights of the alternatives of each axis if the box is of a kind."""
    shares = kind_shares(kind, stated_of_kind(cases.question, cases.base), cases.base)
    weights = _weights(cases, before, shares)
    weights[WET_CLUTCH] = _of_wet_clutch(cases, kind)
    return weights


def _of_wet_clutch(cases: Cases, kind: str) -> Floats:
    """The weights of a wet clutch or none in a box of a kind."""
    axis = cases.axes[WET_CLUTCH]
    found = [how_often("wet_clutch", value, {"box_kind": kind}, cases.base) for (value,) in axis.alternatives]
    return np.array(found) / sum(found) if axis.open else axis.weights


def replies_by_kind(asked: OpenQuestion, leads_if: LeadsIf) -> tuple[PossibleReply, ...]:
    """The replies to a question, and who leads once what they tell of the kind of box weighs the rest too."""
    cases = leads_if.cases
    kind, stated = cases.question.box_kind, stated_of_kind(cases.question, cases.base)
    found = next(((axis, opened) for axis, opened in cases.open if opened.name == asked.name), None)
    if found is None or found[1].field not in BY_KIND or len(kinds_within(kind, cases.base)) < 2:
        return asked.replies
    axis, opened = found
    before = _met(kind_shares(kind, stated, cases.base), cases.base)
    each = []
    for value in asked.values:
        weights = _weights(cases, before, kind_shares(kind, {**stated, opened.field: value}, cases.base))
        weights[axis] = cases.axes[axis].weights * (opened.value_of == opened.values.index(value))
        each.append((weights, kind))
    leads = leads_if.with_weights(each)
    return tuple([PossibleReply(value, lead.leader) for value, lead in zip(asked.values, leads, strict=True)])


def _weights(cases: Cases, before: Mapping[str, Mapping[str, float]], shares: Mapping[str, float]) -> list[Floats]:
    """The weights of the alternatives of each axis, with other shares of the kinds of box."""
    after = _met(shares, cases.base)
    return [_reweighed(axis, before, after) for axis in cases.axes]


def _reweighed(axis: Axis, before: Mapping[str, Mapping[str, float]], after: Mapping[str, Any]) -> Floats:
    weights = axis.weights
    for opened in axis.open:
        if opened.field in BY_KIND:
            met, was = after[opened.field], before[opened.field]
            ratio = np.array([met.get(value, 0.0) / was[value] if was.get(value) else 0.0 for value in opened.values])
            weights = weights * ratio[opened.value_of]
    whole = weights.sum()
    return weights / whole if whole else axis.weights


def _of_service_data(leads_if: LeadsIf) -> tuple[tuple[float, float], OpenQuestion]:
    """What the book names; whatever that is, it is what leads."""
    base = leads_if.cases.base
    row, settles = base.unknowns[SERVICE_DATA], 1 - leads_if.ranking.whole.share
    families = tuple([tried.value for tried in base.plausible_values if tried.field == SERVICE_DATA])
    ease = row.answerable_percent / (row.effort + base.limit("question-effort-at-least"))
    return (-settles * ease, 0.0), OpenQuestion(SERVICE_DATA, row.pointer, settles, families, leads_if.named)
