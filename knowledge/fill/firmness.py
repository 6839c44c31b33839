"""How firm an answer is: who leads when every figure of no better standing than judgement is drawn anew, many times."""

from collections import Counter
from typing import Annotated, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import BeforeValidator, Field

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.citing import answer_id
from knowledge.fill.compute import judged_box
from knowledge.fill.drawn import DrawnFigure, figures_for, leaders_drawn
from knowledge.fill.over_temperatures import leading_id
from knowledge.fill.reasons import leads_by
from knowledge.ids import with_ids
from knowledge.judging.columns import Floats
from knowledge.judging.judgement import Judgement
from knowledge.loading.schema import Distribution
from knowledge.parts.provenance import KnowledgeStamp, sent
from knowledge.parts.request_model import STRICT, RequestModel, optional, whole
from knowledge.parts.units import unit_of
from knowledge.shop.shop import NO_SHOP, Shop
from knowledge.text import significant

LEAST_DRAWS, MOST_DRAWS = 200, 1000
MOST_SEED = 2**32 - 1
MOST_TOLD = 3
# How many figures are put back, and in how many of the draws that lost the leader.
MOST_FIGURES, MOST_LOST = 8, 24
FIRM_FROM = 0.9


class FirmnessQuestion(RequestModel):
    """A fill question, and how often its figures are drawn anew."""

    question: FillQuestion = Field(description="The fill question whose answer is tried.")
    draws: Annotated[int, STRICT, Field(ge=LEAST_DRAWS, le=MOST_DRAWS), BeforeValidator(whole)] = Field(
        LEAST_DRAWS, description="How often every figure is drawn anew.", examples=[LEAST_DRAWS]
    )
    seed: Annotated[int, STRICT, Field(ge=0, le=MOST_SEED), BeforeValidator(whole)] | None = optional(
        "Seed of the draws: another one tells how much is chance; left out, it follows from the question.", 7
    )


@sent
class Instead:
    """A class that leads in some of the draws in place of the leader."""

    lubricant: Annotated[str | None, Field(description="The id of the class; null: no class leads.")]
    share: Annotated[float, Field(description="The share of the draws that it leads, 0 to 1.")]


@sent
class FigureThatMatters:
    """A figure whose draws have most to do with whether the leader stays."""

    figure: Annotated[str, Field(description="Its row: the id of a threshold, or `row/column` of another table.")]
    value: Annotated[float, Field(description="The value that answers use.")]
    unit: Annotated[str, Field(description="Its unit; `1` for a bare number.")]
    spread: Annotated[float, Field(description="How far off it may be, as its table says.")]
    distribution: Annotated[
        Distribution,
        Field(description="Times or divided by the spread, plus or minus it, or odds times or divided by it."),
    ]
    effect: Annotated[
        float,
        Field(
            description=f"In how much of the draws that lose the leader, at most the first {MOST_LOST}, it comes back "
            "once this figure alone is put back, 0 to 1."
        ),
    ]


@sent
class Firmness:
    """In how many draws of its figures an answer keeps its leader."""

    knowledge: KnowledgeStamp
    answer_id: str
    leader: Annotated[str | None, Field(description="The id of the class that leads; null where none does.")]
    holds: Annotated[float, Field(description="The share of the draws that keep it or a twin first, 0 to 1.")]
    draws: Annotated[int, Field(description="How often every figure was drawn.")]
    seed: Annotated[
        int, Field(description="Seed of the draws; where none is asked for, the same for the same box and knowledge.")
    ]
    instead: Annotated[tuple[Instead, ...], Field(description="What leads in the other draws, the most often first.")]
    matters_most: Annotated[
        tuple[FigureThatMatters, ...], Field(description="At most three figures, the weightiest first; empty: none.")
    ]
    word: Annotated[
        Literal["firm", "close", "rests-on-custom"],
        Field(
            description="`close`: it is kept in less than nine of ten draws. `rests-on-custom`: it is kept, but what "
            "stands next fits as well and only custom puts it behind. Else `firm`."
        ),
    ]


def firmness(asked: FirmnessQuestion, base: KnowledgeBase, shop: Shop = NO_SHOP) -> Firmness:
    """How firm the answer to a fill question is.

    Errors: UnknownIds, when the question names an id that the knowledge or the shop does not have.
    """
    asked = with_ids(asked, base, shop.ids)
    box = judged_box(asked.question, base, shop)
    judgement, now = box.judgement, leading_id(box.judgement)
    same = _same_work(judgement)
    seed = int(box.answer_id[:8], 16) if asked.seed is None else asked.seed
    figures = figures_for(judgement)
    places = places_drawn(len(figures), asked.draws, seed)
    leaders = leaders_drawn(judgement, figures, places) if judgement.named.is_listed else [now] * asked.draws
    kept = np.array([leader in same for leader in leaders])
    others = Counter(leader for leader in leaders if leader not in same)
    return Firmness(
        knowledge=base.stamp,
        answer_id=answer_id("firmness", asked, base.digest, *shop.used_by(asked.question)),
        leader=now,
        holds=float(kept.mean()),
        draws=asked.draws,
        seed=seed,
        instead=tuple(Instead(lubricant=id, share=count / asked.draws) for id, count in others.most_common()),
        matters_most=matter_most(judgement, figures, places, kept)[:MOST_TOLD],
        word=_word(judgement, float(kept.mean())),
    )


def _same_work(judgement: Judgement) -> frozenset[str | None]:
    """The ids of the leader and of what does the same work at its grade; None where nothing leads."""
    now, groups = judgement.leader, judgement.ranking.groups
    if now is None or leading_id(judgement) is None:
        return frozenset({leading_id(judgement)})
    return frozenset(oil.id for oil, group in zip(judgement.lubricants, groups, strict=True) if group == groups[now])


def places_drawn(figures: int, draws: int, seed: int) -> Floats:
    """Where within its spread each figure lies in each draw, from -1 to 1, of shape (draws, figures)."""
    return np.random.default_rng(seed).uniform(-1.0, 1.0, (draws, figures))


def matter_most(
    judgement: Judgement, figures: tuple[DrawnFigure, ...], places: Floats, kept: NDArray[np.bool_]
) -> tuple[FigureThatMatters, ...]:
    """The figures by how often each alone would have kept the leader, among those that go with its loss."""
    lost = np.nonzero(~kept)[0][:MOST_LOST]
    if not len(lost):
        return ()
    others = places[kept].mean(axis=0) if kept.any() else 0.0
    apart = np.abs(places[~kept].mean(axis=0) - others)
    tried = np.argsort(-apart)[:MOST_FIGURES].tolist()
    again = np.repeat(places[lost][None], len(tried), axis=0)
    for drawn, at in zip(again, tried, strict=True):
        drawn[:, at] = 0.0
    same, leaders = _same_work(judgement), leaders_drawn(judgement, figures, again.reshape(-1, len(figures)))
    effects = np.array([leader in same for leader in leaders]).reshape(len(tried), -1).mean(axis=1).tolist()
    found = (_that_matters(figures[at], effect) for at, effect in zip(tried, effects, strict=True) if effect)
    return tuple(sorted(found, key=lambda item: -item.effect))


def _that_matters(figure: DrawnFigure, effect: float) -> FigureThatMatters:
    assert figure.row.distribution is not None, "only what has a spread is drawn"
    return FigureThatMatters(
        figure=figure.id,
        value=figure.value,
        unit="%" if figure.row.distribution == "odds" else getattr(figure.row, "unit", unit_of(figure.column)),
        spread=figure.spread,
        distribution=figure.row.distribution,
        effect=significant(effect, 2),
    )


def _word(judgement: Judgement, holds: float) -> Literal["firm", "close", "rests-on-custom"]:
    if holds < FIRM_FROM:
        return "close"
    leader, groups = judgement.leader, judgement.ranking.groups
    if leader is None or leading_id(judgement) is None or leads_by(judgement)[0] != "custom":
        return "firm"
    behind = next((index for index in judgement.order if groups[index] != groups[leader]), None)
    is_alike = behind is not None and judgement.verdict(behind) == judgement.verdict(leader)
    return "rests-on-custom" if is_alike else "firm"
