"""Rules about the hot side: bearings and gear teeth at the hottest sump and the thin edge of a class."""

from knowledge.base import KnowledgeBase
from knowledge.box.mating import MeshContact
from knowledge.box.question import Bearing
from knowledge.lubricant import Lubricant
from knowledge.parts.provenance import Standing, weakest
from knowledge.physics.bearing import reference_viscosity_mm2_s, viscosity_ratio
from knowledge.physics.film import film_lambda, minimum_film_um, pressure_viscosity_coefficient_mm2_n
from knowledge.physics.limits import OutOfRange
from knowledge.rule import Measured, RuleOutcome, cautions, excludes, no_data, rule, supports
from knowledge.text import plain, spanned


def least_bearing_ratio(oil: Lubricant, base: KnowledgeBase) -> float:
    """The viscosity ratio below which an oil is refused: without an additive the film has to carry it all."""
    has_antiwear = oil.family.protection != "none"
    return base.limit("bearing-ratio-refused-below" if has_antiwear else "bearing-ratio-additive-below")


@rule(
    ("iso-281-2007", "viscosity ratio, reference viscosity"),
    ("astm-d341-20", "viscosity at temperature"),
    sets_margin=True,
    settled_by="kv100_mm2_s",
)
def bearings_need_viscosity_when_hot(
    *, sump_hot_c: float, sump_rests_on: Standing, bearing: Bearing, oil: Lubricant, base: KnowledgeBase
) -> RuleOutcome:
    """At the hottest sump the oil must keep enough viscosity to part the rolling bearings' surfaces.

    Because at a small part of the viscosity that the bearing needs metal runs on metal, below the whole of it an
    antiwear or extreme-pressure additive has to help, and above it the film carries most of the load.
    """
    when, oil = ("Once sheared, at", oil.once_sheared) if oil.once_sheared else ("At", oil)
    needed = reference_viscosity_mm2_s(speed_rpm=bearing.speed_rpm, pitch_diameter_mm=bearing.pitch_diameter_mm)
    try:
        low, high = oil.viscosity_span_mm2_s(sump_hot_c)
    except OutOfRange:
        return no_data(f"The viscosity at {plain(sump_hot_c)} °C is outside of what ASTM D341 covers.")
    thin, thick = (
        viscosity_ratio(kinematic_viscosity_mm2_s=value, reference_viscosity_mm2_s=needed) for value in (low, high)
    )
    limit = least_bearing_ratio(oil, base)
    figures = (
        Measured("kv_hot_mm2_s", low, high, "mm²/s", weakest(oil.standing, sump_rests_on)),
        Measured("bearing_ratio", thin, thick, "1", "judgement"),
    )
    at = f"{when} {plain(sump_hot_c)} °C the bearing viscosity ratio is {_ratios(thin, thick, limit)}"
    margin = thin / limit
    if thick < limit:
        return excludes(f"{at}: too thin, {plain(limit)} is needed.", figures=figures, margin=margin)
    comfortable = base.limit("margin-comfortable-from") * limit
    if thin < comfortable:
        how = "too thin at its thin edge" if thin < limit else f"near the {plain(limit)} that is needed"
        kv100 = oil.kv100_needed_mm2_s(temperature_c=sump_hot_c, viscosity_mm2_s=comfortable * needed)
        ask = "a thicker grade is safer"
        if kv100 is not None:
            ask = f"for {plain(comfortable)} ask the data sheet for a KV100 of at least {plain(kv100)} mm²/s"
        return cautions(f"{at}, {how}: {ask}.", figures=figures, margin=margin)
    if thin < base.limit("bearing-ratio-additive-below"):
        return supports(f"{at}: enough with this family's antiwear additive.", figures=figures, margin=margin)
    return supports(f"{at}: comfortable.", figures=figures, margin=margin)


def _ratios(thin: float, thick: float, limit: float) -> str:
    """In hundredths, or as finely as it takes to tell them from the limit."""
    places = next(
        places
        for places in range(2, 17)
        if all((round(ratio, places) < limit) == (ratio < limit) for ratio in (thin, thick))
    )
    return spanned(f"{thin:.{places}f}", f"{thick:.{places}f}")


@rule(
    ("dowson-higginson-1966", "minimum film of a line contact"),
    ("dudley-1994", "involute geometry at the pitch point"),
    ("agma-925-a03", "pressure-viscosity coefficient; lambda bands"),
    ("astm-d1250-04", "density at temperature"),
    settled_by="kv100_mm2_s",
)
def gear_film_sets_the_protection_needed(
    *, sump_hot_c: float, mesh: MeshContact, is_named: bool, oil: Lubricant, base: KnowledgeBase
) -> RuleOutcome:
    """The oil film between gear teeth at the hottest sump decides how much additive protection they need.

    Because a film thinner than the roughness leaves the load to the additives.
    """
    oil = oil.once_sheared or oil
    try:
        span = oil.dynamic_viscosity_span_mpa_s(sump_hot_c)
    except OutOfRange:
        return no_data(f"The viscosity at {plain(sump_hot_c)} °C is outside of what ASTM D341 covers.")
    thin, thick = (_lambda(viscosity, mesh, base) for viscosity in span)
    at = f"The gear film at {plain(sump_hot_c)} °C is {spanned(f'{thin:.2f}', f'{thick:.2f}')} of the roughness"
    figures = (Measured("film_lambda", thin, thick, "1", "judgement"),)
    return _of_film(thin, at, oil.family.protection, is_named, base)._replace(figures=figures, tie_break=thin)


def _of_film(thinnest: float, at: str, protection: str, is_named: bool, base: KnowledgeBase) -> RuleOutcome:
    if thinnest >= base.limit("film-lambda-additive-below"):
        return supports(f"{at}: it parts the teeth by itself.")
    if protection in ("moderate", "full"):
        return supports(f"{at}: the additives of this family carry the rest.")
    if protection == "none" and is_named:
        return cautions(f"{at}: the teeth want an antiwear additive, but the service data names this class.")
    if protection == "none":
        return excludes(f"{at}: the teeth need an antiwear additive, and this oil has none.")
    if thinnest >= base.limit("film-lambda-ep-below"):
        return supports(f"{at}: its light antiwear additive carries the rest.")
    if is_named:
        return supports(f"{at}: thin for a light additive, but the service data names this class.")
    return cautions(f"{at}: thin for a light antiwear additive; hard use wears the teeth.")


def _lambda(dynamic_viscosity_mpa_s: float, mesh: MeshContact, base: KnowledgeBase) -> float:
    film = minimum_film_um(
        entrainment_speed_m_s=mesh.point.entrainment_speed_m_s,
        relative_radius_mm=mesh.point.relative_radius_mm,
        line_load_n_mm=mesh.point.line_load_n_mm,
        dynamic_viscosity_mpa_s=dynamic_viscosity_mpa_s,
        pressure_viscosity_mm2_n=pressure_viscosity_coefficient_mm2_n(
            dynamic_viscosity_mpa_s=dynamic_viscosity_mpa_s,
            coefficient_k=base.limit("pressure-viscosity-k"),
            exponent_s=base.limit("pressure-viscosity-s"),
        ),
        effective_modulus_gpa=mesh.effective_modulus_gpa,
    )
    return film_lambda(film_um=film, composite_roughness_um=mesh.composite_roughness_um)
