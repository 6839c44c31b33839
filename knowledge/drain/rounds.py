"""What is in the box after each round of draining: the share of the old fluid, and the mixture."""

from collections.abc import Iterable

from knowledge.base import DEFAULT_J306_EDITION, KnowledgeBase
from knowledge.drain.change import Change
from knowledge.drain.leftover_answer import DrainRound
from knowledge.parts.provenance import UNCHECKED, Assumption, Standing, weakest
from knowledge.parts.request_model import Detail
from knowledge.physics.blending import blended_viscosity_mm2_s, share_left
from knowledge.physics.grades import j306_grade
from knowledge.physics.limits import OutOfRange
from knowledge.physics.viscosity_index import viscosity_index
from knowledge.text import significant


def drain_rounds(
    change: Change,
    assumed: Iterable[Assumption],
    drained_l: float | None,
    base: KnowledgeBase,
    detail: Detail,
) -> tuple[DrainRound, ...]:
    """What is in the box after each round shown."""
    # How much may stay changes nothing of what does.
    standings = {item.pointer: item.standing for item in assumed if item.pointer != "/target_old_share"}
    rests_on = weakest("computed", *standings.values())
    share_digits = digits_shown(standings.get("/drained_l", "computed"), detail)
    mixture_digits = digits_shown(rests_on, detail)
    rounds = []
    for number in range(1, change.rounds_shown + 1):
        share = share_left(drained_share=change.drained_share, rounds=number)
        kv40 = _blend(share, change.old.kv40_mm2_s, change.new.kv40_mm2_s)
        kv100 = _blend(share, change.old.kv100_mm2_s, change.new.kv100_mm2_s)
        index = _viscosity_index(kv40, kv100, base)
        rounds.append(
            DrainRound(
                old_share=significant(share, share_digits),
                kv40_mm2_s=None if kv40 is None else significant(kv40, mixture_digits),
                kv100_mm2_s=None if kv100 is None else significant(kv100, mixture_digits),
                viscosity_index=None if index is None else int(significant(index, mixture_digits)),
                hot_grade_estimate=None if kv100 is None else _hot_grade(kv100, base),
                litres_used=None if drained_l is None else significant(number * drained_l, share_digits),
                rests_on=rests_on,
            )
        )
    return tuple(rounds)


def digits_shown(standing: Standing, detail: Detail) -> int:
    """The significant digits of a computed figure: two in short where it rests on a judgement or on memory."""
    return 2 if detail == "short" and standing in UNCHECKED else 4


def _blend(share: float, old_mm2_s: float | None, new_mm2_s: float | None) -> float | None:
    if old_mm2_s is None or new_mm2_s is None:
        return None
    return blended_viscosity_mm2_s(first_share=share, first_kv_mm2_s=old_mm2_s, second_kv_mm2_s=new_mm2_s)


def _viscosity_index(kv40_mm2_s: float | None, kv100_mm2_s: float | None, base: KnowledgeBase) -> int | None:
    if kv40_mm2_s is None or kv100_mm2_s is None:
        return None
    try:
        return round(viscosity_index(kv40_mm2_s=kv40_mm2_s, kv100_mm2_s=kv100_mm2_s, reference_oils=base.astm_d2270))
    except OutOfRange:
        return None


def _hot_grade(kv100_mm2_s: float, base: KnowledgeBase) -> str | None:
    rows = [row for row in base.sae_j306 if row.edition == DEFAULT_J306_EDITION]
    return j306_grade(kv100_mm2_s=kv100_mm2_s, rows=rows).summer
