"""Rules about what a shift does to a facing, each figure against the facing's limit.

Energy, power and heat are taken at the end of friction where they are worse. A little over a limit is care, far over it
is refused: as far for every facing. What only the drag of cold oil takes over a limit is care.
"""

from math import inf
from typing import Any

from knowledge.loading.facing_rows import LimitName
from knowledge.parts.digits import shown_limit
from knowledge.parts.provenance import Figure, LimitUsed
from knowledge.rings.figures import LIMITED
from knowledge.rule import Evidence, Rule, RuleOutcome, cautions, excludes, no_data, rule, supports
from knowledge.shift.loaded_ring import CONE, LoadedRing
from knowledge.text import Said

NO_END = "The speeds never match, so there is no end to compute it for."

# Fields of the question that rules read together.
GRIP = ("facing", "friction", "fluid")
DRAG = ("drag_nm", "start_c", "sump_c")
LOAD = ("inertia_kg_m2", "speed_difference_rpm", *DRAG, "direction")
FACE = ("shift_force_n", "face_width_mm")
ROW_OF_SHIFTS = ("shifts", "shift_interval_s")
PERMISSIBLE = ("naunheimer-2011", "permissible stress of synchronizer facings")


def above(limit: LimitUsed, value: float, *figures: Figure) -> Evidence:
    """What a value that must not be below a limit was read off."""
    return Evidence(figures=figures, limits=(limit,), margin=value / limit.value if limit.value > 0 else None)


def below(limit: LimitUsed, value: float, *figures: Figure) -> Evidence:
    """What a value that must not be above a limit was read off."""
    return Evidence(figures=figures, limits=(limit,), margin=limit.value / value if value > 0 else None)


@rule(PERMISSIBLE, reads=("facing", "mean_radius_mm", "speed_difference_rpm"))
def sliding_speed_stays_within_the_facing(*, ring: LoadedRing) -> RuleOutcome:
    """At first slip the facing must not slide faster than it stands.

    Because speed wears it and breaks its film down, whatever the force.
    """
    return _against("sliding_speed_m_s", "The sliding speed", ring)


@rule(PERMISSIBLE, reads=(*GRIP, *CONE, *LOAD, *FACE))
def energy_of_a_shift_stays_within_the_facing(*, ring: LoadedRing) -> RuleOutcome:
    """Each square millimetre of facing must not be given more friction energy in one shift than it stands.

    Because this heat stays near the face until the shift is over.
    """
    return _against("specific_energy_j_mm2", "The friction energy", ring)


@rule(PERMISSIBLE, reads=(*GRIP, *CONE, "speed_difference_rpm", *FACE))
def mean_power_stays_within_the_facing(*, ring: LoadedRing) -> RuleOutcome:
    """The mean friction power on each square millimetre of facing must stay within what it stands.

    Because a face that gets its heat faster than it passes it on scuffs or glazes.
    """
    return _against("mean_power_w_mm2", "The mean friction power", ring)


@rule(PERMISSIBLE, reads=("facing", *CONE, *FACE))
def pressure_stays_within_the_facing(*, ring: LoadedRing) -> RuleOutcome:
    """The pressure on the smallest cone must stay within what the facing stands.

    Because crests flatten and linings crush under more.
    """
    return _against("pressure_n_mm2", "The pressure", ring)


@rule(
    ("newcomb-1961", "linearly falling flux"),
    ("haggstrom-2018", "abstract: simulated surface temperature foretells failure"),
    reads=(*GRIP, *CONE, *LOAD, *FACE, "contact_share", *ROW_OF_SHIFTS),
)
def interface_stays_cool_enough_for_facing_and_oil(*, ring: LoadedRing) -> RuleOutcome:
    """In the last of the shifts the face must stay below the temperature that facing and oil stand.

    Because surface temperature foretells the failure of synchronizers better than energy or power does. The figure
    is that of a face that touches everywhere, on top of the warmth that the shifts before it left: a lower bound.
    """
    found, untrue = _against("interface_temperature_c", "The face, at least,", ring), ring.untrue_peak_c
    if found.effect != "supports" or untrue is None or untrue <= ring.limits["interface_temperature_c"].value:
        return found
    hotter = ring.shown("interface_temperature_c", untrue)
    words = "{told} On a cone that is not true it may reach {hotter} °C: see that ring and cone touch all over."
    text = Said(words.format(told=found.text, hotter=hotter), "within-where-true", **found.text.params, hotter=hotter)
    return found._replace(effect="cautions", text=text)


@rule(
    ("heat-balance", "a row of equal shifts"),
    ("juvinall-marshek-table-18-1", "Table 18.1, steel, bulk temperature"),
    ("fillwright-judgement", "what warms through, how fast it cools"),
    reads=(*GRIP, *CONE, *LOAD, *FACE, *ROW_OF_SHIFTS),
)
def repeated_shifts_must_not_heat_the_cone_through(*, ring: LoadedRing) -> RuleOutcome:
    """After all the shifts, ring and cone must not be hotter through and through than steel stands in a clutch.

    Because each shift leaves some heat behind, and the next one starts from there. The limit is a handbook's.
    """
    ends = ring.ends.of("after_shifts_c")
    if ends is None:
        return no_data("no-end", NO_END)
    limit, after = ring.base.quantity("steel-cone-bulk-from"), max(ends)
    evidence = below(limit, after, ring.measured("after_shifts_c", *ends))
    words: dict[str, Any] = {
        "many": f"{ring.shift.shifts} shifts" if ring.shift.shifts > 1 else "the shift",
        "after_c": ring.shown_beside("after_shifts_c", after, limit),
    }
    text = "After {many} ring and cone are at about {after_c} °C"
    if after <= limit.value:
        return supports("bears-it", f"{text}.", **words, **evidence)
    text += " through and through, by our estimate of what warms; {limit_c} °C is a handbook's limit for steel."
    words["limit_c"] = shown_limit(limit)
    if (ring.warm_ends.worst("after_shifts_c") or inf) <= limit.value:
        return cautions("too-hot-in-the-cold", f"{text} That is with the drag of cold oil.", **words, **evidence)
    return excludes("too-hot", text, **words, **evidence)


LIMIT_RULES: tuple[Rule, ...] = (
    sliding_speed_stays_within_the_facing,
    energy_of_a_shift_stays_within_the_facing,
    mean_power_stays_within_the_facing,
    pressure_stays_within_the_facing,
    interface_stays_cool_enough_for_facing_and_oil,
    repeated_shifts_must_not_heat_the_cone_through,
)


def _against(quantity: LimitName, words: str, ring: LoadedRing) -> RuleOutcome:
    """A figure against the facing's limit, at the end of friction where the figure is worse."""
    ends, limit = ring.ends.of(LIMITED[quantity]), ring.limit(quantity)
    if ends is None:
        return _once_warm(quantity, words, ring)
    low, high = ends
    evidence = below(limit, max(ends), ring.measured(quantity, *ends))
    params: dict[str, Any] = {
        "figure": words,
        "value": ring.shown_beside(quantity, max(ends), limit),
        "where": "" if low == high else f" at {'high' if high > low else 'low'} friction",
        **_allowed(ring, limit),
    }
    text = "{figure} is {value} {unit}{where}; {ring} stands {allowed} {unit}"
    if max(ends) <= limit.value:
        return supports("within", f"{text}.", **params, **evidence)
    if min(max(ends), ring.warm_ends.worst(LIMITED[quantity]) or inf) <= ring.refused_above(quantity):
        return cautions("over", f"{text}.", **params, **evidence)
    return excludes("far-over", f"{text}: far over.", **params, **evidence)


def _allowed(ring: LoadedRing, limit: LimitUsed) -> dict[str, str]:
    return {"ring": ring.words, "allowed": shown_limit(limit), "unit": limit.unit}


def _once_warm(quantity: LimitName, words: str, ring: LoadedRing) -> RuleOutcome:
    """The same where drag wins: no shift to judge now, and one that is far over once the oil is warm."""
    warm, limit = ring.warm_ends.worst(LIMITED[quantity]), ring.limit(quantity)
    if warm is None or warm <= ring.refused_above(quantity):
        return no_data("no-end", NO_END)
    return excludes(
        "far-over-once-warm",
        "Once the oil is warm, {figure} is {value} {unit}; {ring} stands {allowed} {unit}: far over.",
        figure=f"{words[0].lower()}{words[1:]}",
        value=ring.shown_beside(quantity, warm, limit),
        **_allowed(ring, limit),
        **below(limit, warm, ring.measured(quantity, warm)),
    )
