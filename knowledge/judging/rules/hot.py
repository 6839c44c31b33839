"""Rules about the hot side: bearings and gear teeth at the hottest sump and the thin edge of a class."""

from collections.abc import Sequence

import numpy as np

from knowledge.base import KnowledgeBase
from knowledge.judging.box_columns import BoxColumns
from knowledge.judging.column_rule import Decision, FigureColumn, and_the_oil, column_rule, first_of
from knowledge.judging.spot import Spot
from knowledge.lubricant import Lubricant
from knowledge.parts.provenance import LimitUsed, weakest
from knowledge.text import plain, spanned


def _sump(spot: Spot) -> str:
    return plain(spot.value("sump_hot_c"))


def _at(spot: Spot) -> str:
    return f"{'Once sheared, at' if spot.lubricant.once_sheared else 'At'} {_sump(spot)} °C"


def _kv100_from(spot: Spot) -> str:
    """The KV100 to ask for where the thin edge is too thin."""
    oil = spot.lubricant.once_sheared or spot.lubricant
    wanted = spot.number(spot.x.least_bearing_ratio) * spot.x.bearing_reference_mm2_s
    for at_best in (False, True):
        kv100 = oil.kv100_needed_mm2_s(temperature_c=spot.value("sump_hot_c"), viscosity_mm2_s=wanted, at_best=at_best)
        if kv100 is not None:
            return f"{plain(kv100)} mm²/s{' with a high viscosity index' if at_best else ''}"
    return f"{plain(oil.thickest_kv100_mm2_s)} mm²/s with a high viscosity index"


def least_bearing_ratio(oil: Lubricant, base: KnowledgeBase) -> float:
    """The viscosity ratio below which an oil needs care: without an additive the film has to carry it all."""
    has_additive = oil.family.protection != "none"
    return base.limit("bearing-ratio-refused-below" if has_additive else "bearing-ratio-additive-below")


def _ratio_limits(spot: Spot) -> tuple[LimitUsed, ...]:
    return tuple(map(spot.base.quantity, ("bearing-ratio-refused-below", "bearing-ratio-additive-below")))


def _bearing_figures(x: BoxColumns) -> Sequence[FigureColumn]:
    standing = weakest(x.sump_standing, x.assumed_standing("bearing"), x.base.sources["iso-281-2007"].standing)
    return (
        FigureColumn("kv_hot_mm2_s", x.kv_hot_mm2_s, "mm²/s", and_the_oil(x.sump_standing)),
        FigureColumn("bearing_ratio", x.bearing_ratio, "1", and_the_oil(standing)),
    )


@column_rule(
    ("iso-281-2007", "viscosity ratio, reference viscosity"),
    ("fillwright-judgement", "from which ratio plain oil is refused and others want care"),
    ("astm-d341-20", "viscosity at temperature"),
    reads=("sump_hot_c", "bearing"),
    uses_service_data=True,
    settled_by="kv100_mm2_s",
    speaks_of_grade=True,
    words={"sump": _sump, "at": _at, "kv100_from": _kv100_from},
    limits=_ratio_limits,
    figures=_bearing_figures,
)
def bearings_need_viscosity_when_hot(x: BoxColumns) -> Decision:
    """At the hottest sump the oil must keep enough viscosity to part the rolling bearings' surfaces.

    Because at a small part of the viscosity that the bearing needs metal runs on metal, below the whole of it an
    antiwear or extreme-pressure additive has to help, and above it the film carries most of the load.
    """
    (thin, thick), limit, is_plain = x.bearing_ratio, x.least_bearing_ratio, x.lubricants.has_no_protection
    is_thin = np.sqrt(thin * thick) < limit
    return first_of(
        (np.isnan(thin), "not-computable"),
        (is_plain & (thick < x.limit("bearing-ratio-refused-below")), "too-thin"),
        (is_thin & is_plain & x.is_named, "plain-but-named"),
        (is_thin & is_plain, "plain"),
        (is_thin, "thin"),
        (thin < limit, "thin-at-its-edge"),
        (thin < x.limit("bearing-ratio-additive-below"), "additive"),
        otherwise="comfortable",
        margin=thin / limit,
    )


def _film(spot: Spot) -> str:
    thin, thick = (spot.number(ratio) for ratio in spot.x.film_lambda)
    return f"The gear film at {_sump(spot)} °C is {spanned(f'{thin:.2f}', f'{thick:.2f}')} of the roughness"


def _film_figures(x: BoxColumns) -> Sequence[FigureColumn]:
    steel = (x.base.default("steel", name).standing for name in ("elastic_modulus_gpa", "poisson_ratio"))
    pressure = x.base.quantity("pressure-viscosity-k").standing
    standing = weakest(x.sump_standing, x.assumed_standing("mesh"), pressure, *steel)
    return (FigureColumn("film_lambda", x.film_lambda, "1", and_the_oil(standing)),)


def _long_sump(spot: Spot) -> tuple[LimitUsed, ...]:
    oil = spot.lubricant
    return (LimitUsed(id="long-sump-c", value=oil.long_sump_c, unit="°C", standing=oil.standing),)


@column_rule(
    ("trade-practice", "heat that oils of a grade bear for long"),
    reads=("sump_hot_c",),
    uses_service_data=True,
    speaks_of_grade=True,
    words={"sump": _sump, "long": lambda spot: plain(spot.lubricant.long_sump_c)},
    limits=_long_sump,
)
def a_stated_sump_must_be_borne_for_long(x: BoxColumns) -> Decision:
    """An oil that runs hotter for long than oils of its grade bear ages early.

    Because it thickens and its additives are used up. Only a temperature that somebody measured counts, since what is
    usual for a duty is no reason to leave what is usually filled; in the order of the classes it counts by degrees.
    """
    is_beyond = x.stated_sump_c > x.lubricants.long_sump_c
    return first_of(
        (np.isnan(x.stated_sump_c), "not-stated"),
        (is_beyond & x.is_named, "named"),
        (is_beyond, "beyond"),
        otherwise="bears",
    )


@column_rule(
    ("dowson-higginson-1966", "minimum film of a line contact"),
    ("dudley-1994", "involute geometry at the pitch point"),
    ("agma-925-a03", "pressure-viscosity coefficient; lambda bands"),
    ("astm-d1250-04", "density at temperature"),
    reads=("sump_hot_c", "mesh"),
    settled_by="kv100_mm2_s",
    speaks_of_grade=True,
    words={"sump": _sump, "film": _film},
    limits=("film-lambda-ep-below", "film-lambda-additive-below"),
    figures=_film_figures,
)
def gear_film_sets_the_protection_needed(x: BoxColumns) -> Decision:
    """The oil film between gear teeth at the hottest sump decides how much additive protection they need.

    Because a film thinner than the roughness leaves the load to the additives. It is told and decides nothing, since
    the teeth are mostly assumed, and what a family protects is judged by duty and final drive.
    """
    oil, (thin, _) = x.lubricants, x.film_lambda
    return first_of(
        (np.isnan(thin), "not-computable"),
        (thin >= x.limit("film-lambda-additive-below"), "parts-the-teeth"),
        (oil.has_strong_ep, "additives-carry"),
        (oil.has_no_protection, "none"),
        (thin >= x.limit("film-lambda-ep-below"), "light-carries"),
        otherwise="light",
        tie_break=thin,
    )
