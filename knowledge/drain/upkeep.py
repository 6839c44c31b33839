"""What comes after a fill: running-in and first change after a rebuild, and how often to change from then on."""

from collections.abc import Sequence

from pydantic import Field

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.drain.rows import IntervalRow, RunningInRow
from knowledge.lubricant import Lubricant
from knowledge.parts.lubricant_name import Limits
from knowledge.parts.provenance import Coded, ResponseModel, Standing, weakest
from knowledge.text import Said, grouped, in_a_row, percent, plain, reworded, significant

HEAT = ("oil-hot-from", "oil-life-halves-per", "oil-life-halves-per-in-trade")
FIRST_CHANGE, SHARED = "first-change", "engine-oil-shared"


class Upkeep(ResponseModel):
    """How a fill is looked after; whichever of distance and years comes first."""

    first_change_km: Limits | None = Field(
        description="Distance to the first change after new rings; null without rings, or where they are old."
    )
    running_in: Coded | None
    interval_km: Limits | None = Field(
        description="Distance between changes; null where none tells it: then `because` has the words."
    )
    interval_years: Limits | None
    because: Coded
    standing: Standing


def upkeep_of_box(lubricant: Lubricant, box: FillQuestion, base: KnowledgeBase) -> Upkeep:
    """How a box is looked after when it is filled with a class."""
    rings = box.rings
    known = None if rings is None else tuple(ring.facing for ring in rings if ring.facing)
    conditions = {ring.condition for ring in rings or ()}
    return upkeep(
        lubricant,
        duty=box.duty,
        sump_hot_c=box.sump_hot_c,
        book_km=box.service_data.interval_km if box.service_data else None,
        facings=known or (() if rings == () else None),
        is_new_rings="new" in conditions or (None if None in conditions or not rings else False),
        is_shared_with_engine=box.wet_clutch is True,
        base=base,
    )


def upkeep(
    lubricant: Lubricant,
    *,
    duty: str | None,
    sump_hot_c: float | None,
    book_km: float | None,
    facings: Sequence[str] | None,
    is_new_rings: bool | None,
    is_shared_with_engine: bool,
    base: KnowledgeBase,
) -> Upkeep:
    """How a box filled with a class is looked after; None is not known, `facings` are () without rings.

    A duty that nobody knows is reckoned as the lightest. The distance that the book gives stands before custom, and is
    never made longer. Only a stated temperature shortens either.
    """
    lightest = next(row.id for row in base.duties.values() if row.is_light)
    kind = _kind(lubricant, is_shared_with_engine, base)
    row, usual = _interval(kind, duty or lightest, base), _interval(kind, lightest, base)
    use = base.duties[duty].words if duty else "street driving, as nobody knows how it is driven"
    km, text = _limits(row.km_min, row.km_max), f"Custom for {use}{f': {row.words}' if row.words else ''}."
    because = [Said(text, "custom-interval", kind=kind, duty=duty)]
    if book_km is not None and (row.words is None or row.km_max == usual.km_max):
        part = min(1.0, row.km_max / usual.km_max) if row.km_max and usual.km_max else 1.0
        km, text = _limits(book_km * part, book_km * part), f"The book says {grouped(book_km)} km."
        because = [Said(text, "interval-of-the-book", book_km=book_km)]
        if part < 1:
            text = f"The book says {grouped(book_km)} km; custom takes {percent(part)} of it for {use}."
            because = [Said(text, "part-of-the-interval-of-the-book", book_km=book_km, part=part, duty=duty)]
    standing, hot_from, per, in_trade = row.standing, *map(base.quantity, HEAT)
    if km is not None and sump_hot_c is not None and sump_hot_c > hot_from.value:
        life = 0.5 ** ((sump_hot_c - hot_from.value) / per.value)
        km = _limits(*(end and end * life for end in (km.min, km.max)))
        standing = weakest(standing, hot_from.standing, per.standing)
        text = f"Halved for every {plain(per.value)} °C above {plain(hot_from.value)} °C"
        text += f"; the trade reckons {plain(in_trade.value)} °C."
        values = {"halved_for_each_k": per.value, "above_c": hot_from.value, "in_the_trade_k": in_trade.value}
        because.append(Said(text, "halved-by-heat", **values))
    is_run_in = facings != () and is_new_rings is not False
    first = _interval(FIRST_CHANGE, duty or lightest, base)
    years = _limits(row.years_min, row.years_max)
    return Upkeep(
        first_change_km=_limits(first.km_min, first.km_max) if is_run_in else None,
        running_in=_running_in(facings or (), is_new_rings, base) if is_run_in else None,
        interval_km=km,
        interval_years=years if years or row.words else _limits(usual.years_min, usual.years_max),
        because=in_a_row(because),
        standing=standing,
    )


def _kind(lubricant: Lubricant, is_shared_with_engine: bool, base: KnowledgeBase) -> str:
    """The kind of the table that a class comes under: its family, or what it is blended of, or both."""
    family = lubricant.family.id
    if family == "engine-oil" and is_shared_with_engine:
        return SHARED
    is_synthetic = lubricant.viscosity_index_min >= base.limit("synthetic-viscosity-index-from")
    blended = "synthetic" if is_synthetic else "mineral"
    kinds = {row.kind for row in base.rows(IntervalRow)}
    return next(kind for kind in (family, f"{family}-{blended}", blended) if kind in kinds)


def _interval(kind: str, duty: str, base: KnowledgeBase) -> IntervalRow:
    rows = {row.duty: row for row in base.rows(IntervalRow) if row.kind == kind}
    return rows.get(duty) or rows[None]


def _limits(least: float | None, most: float | None) -> Limits | None:
    return None if least is None or most is None else Limits(min=significant(least, 3), max=significant(most, 3))


def _running_in(facings: Sequence[str], is_new_rings: bool | None, base: KnowledgeBase) -> str:
    kinds = {base.facings[id].kind for id in facings}
    row = next(row for row in base.rows(RunningInRow) if row.is_of(facings, kinds))
    words = Said(row.words, f"run-in/{row.id}")
    if is_new_rings:
        return words
    return reworded(words, f"If the rings are new: {words[0].lower()}{words[1:]}", only_if="new")
