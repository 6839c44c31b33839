"""Who leads, said again in plain Python: case by case by custom, and over the cases by their weights."""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from math import log
from typing import Any, NamedTuple

from knowledge.base import KnowledgeBase
from knowledge.judging.column_rule import CAUTIONS, EXCLUDES
from knowledge.judging.explain import outcome_shown
from knowledge.judging.judgement import Judgement
from knowledge.judging.rules import RULES
from knowledge.loading.custom_rows import BoxKindRow, UsualFillRow
from knowledge.lubricant import Lubricant
from tests.knowledge.every_case import Case, most_delicate

RARE, ONLY_THE_BOOK = 0.05, 0.75  # of thresholds.csv
ROUNDING = 1e-9
NOTHING, CONFLICT = "nothing", "conflict"
COLD_RULE = "cold-first-shifts-need-the-film-wiped"
HEAT_RULE = "a-stated-sump-must-be-borne-for-long"
SOLD = ("everyday", "to-order", "rare")
Leader = int | str


class Lead(NamedTuple):
    """Who may lead over some cases: of several only where the weights leave them equal. The share they lead."""

    outcome: str
    best: frozenset[int]
    share: float


def usual_fill(kind: str | None, question: Mapping[str, Any], base: KnowledgeBase) -> UsualFillRow | None:
    """The first row of custom whose conditions a fully stated box meets."""
    layout = kind and base.by_id(BoxKindRow)[kind].layout
    facing = most_delicate([ring["facing"] for ring in question["rings"]], base)
    cold = question["coldest_start_c"]
    for row in base.rows(UsualFillRow):
        if row.box_kinds and not {kind, layout} & {*row.box_kinds}:
            continue
        told = ((row.facings, facing), (row.final_drives, question["final_drive"]), (row.duties, question["duty"]))
        if any(wanted and value not in wanted for wanted, value in told):
            continue
        if (row.cold_from_c is None or cold >= row.cold_from_c) and (
            row.cold_below_c is None or cold < row.cold_below_c
        ):
            return row
    return None


def are_twins(first: Lubricant, second: Lubricant) -> bool:
    """GL-4 and MTF of one grade do the same work."""
    return first.grade == second.grade and {first.family.id, second.family.id} <= {"gl-4", "mtf"}


@lru_cache(maxsize=200)
def by_custom(ids: tuple[str, ...], base: KnowledgeBase) -> list[tuple[float, ...]]:
    """The key of each class where these are usual, the first choice first: less is more usual."""
    usual = [next(oil for oil in base.lubricants if oil.id == id) for id in ids]
    keys: list[tuple[float, ...]] = []
    for place, oil in enumerate(base.lubricants):
        twin = [at for at, one in enumerate(usual) if are_twins(one, oil)]
        if oil.id in ids:
            keys.append((ids.index(oil.id), 0, 0, 0))
        elif twin:
            keys.append((twin[0], 1, 0, 0))
        else:
            apart = abs(log(_middle(oil) / _middle(usual[0]))) if usual else place
            is_strange = bool(usual) and not is_kin(usual[0], oil)
            keys.append((len(usual) + SOLD.index(base.sold(oil.id, None)), is_strange, apart, place))
    return keys


def is_kin(first: Lubricant, second: Lubricant) -> bool:
    """Of one family, GL-4 and MTF being one."""
    families = {first.family.id, second.family.id}
    return len(families) == 1 or families <= {"gl-4", "mtf"}


def _middle(oil: Lubricant) -> float:
    return (oil.kv100_min_mm2_s * oil.kv100_max_mm2_s) ** 0.5


def leader_of(case: Case, kind: str | None, base: KnowledgeBase) -> Leader:
    """What leads in one case, of a box of some kind.

    What is not refused, then what is named, then what needs no care, then what bears a stated sump, then custom;
    the next thinner grade first where the first shifts with the usual fill are surely hard.
    """
    judgement, oils = case.judgement, base.lubricants
    refused, cared = told(judgement, but_for=HEAT_RULE)  # which counts by degrees
    named = [place for place, oil in enumerate(oils) if judgement.named.names(oil)]
    if named and all(refused[place] for place in named) and any(harms(judgement, place) for place in named):
        return CONFLICT
    row = usual_fill(kind, case.question, base)
    ids = row.lubricants if row else ()
    first = [oil.id for oil in oils].index(ids[0]) if row else None
    if row and row.colder and judgement.outcome(COLD_RULE, first) in ("surely-hard", "not-computable"):
        ids = (row.colder, *ids)
    custom = by_custom(ids, base)
    beyond = [_beyond(oil, case.question["sump_hot_c"]) for oil in oils]
    if first is not None:
        # Leaving the family of the usual fill gains nothing against heat.
        beyond = [
            own if is_kin(oils[first], oil) else max(own, beyond[first]) for oil, own in zip(oils, beyond, strict=True)
        ]
    keys = {
        place: (judgement.named.place(oil), cared[place], beyond[place], custom[place])
        for place, oil in enumerate(oils)
        if not refused[place]
    }
    return min(keys, key=keys.__getitem__) if keys else NOTHING


def told(judgement: Judgement, but_for: str | None = None) -> tuple[list[bool], list[bool]]:
    """Whether any rule refuses each class, and whether any, but for one, wants care with it."""
    worst = judgement.judged.worst
    rows = [place for place, rule in enumerate(RULES) if rule.id != but_for]
    return (worst == EXCLUDES).any(axis=0).tolist(), (worst[rows] == CAUTIONS).any(axis=0).tolist()


def harms(judgement: Judgement, place: int) -> bool:
    """Whether a rule refuses a class for the lasting harm it does."""
    refusing = (judgement.judged.worst[:, place] == EXCLUDES).nonzero()[0].tolist()
    return any(outcome_shown(judgement.judged, rule, place).is_grave for rule in refusing)


def _beyond(oil: Lubricant, sump_c: float | None) -> int:
    return 0 if sump_c is None or oil.long_sump_c is None else max(int(sump_c - oil.long_sump_c), 0)


def twins_of(place: int, base: KnowledgeBase) -> list[int]:
    """A class and those that do the same work at its grade."""
    oil = base.lubricants[place]
    return [at for at, other in enumerate(base.lubricants) if at == place or are_twins(oil, other)]


def lead_over(cases: Sequence[Case], leaders: Sequence[Leader], base: KnowledgeBase) -> Lead:
    """Who leads over some cases: least lasting harm, then most weight with its twins, then most by itself."""
    whole = sum(case.weight for case in cases)
    led: dict[Leader, float] = {}
    for case, leader in zip(cases, leaders, strict=True):
        led[leader] = led.get(leader, 0.0) + case.weight / whole
    nothing, conflict = led.pop(NOTHING, 0.0), led.pop(CONFLICT, 0.0)
    if nothing + conflict >= ONLY_THE_BOOK - ROUNDING or not led:
        return Lead("conflict" if conflict >= nothing else "none-suitable", frozenset(), 0.0)
    with_twins = {at: sum(led.get(twin, 0.0) for twin in twins_of(at, base)) for at in led}
    harm = {at: sum(case.weight for case in cases if harms(case.judgement, at)) / whole for at in led}
    keys = {at: (round(harm[at], 8), -round(with_twins[at], 8), -round(led[at], 8)) for at in led}
    best = frozenset(at for at in led if keys[at] == min(keys.values()))
    share = with_twins[min(best)]
    return Lead("settled" if share >= 1 - RARE - ROUNDING else "depends", best, share)
