"""What is left of an old fill after drains and refills, and the viscosity of the mixture."""

from math import ceil, log, log1p, log10

from knowledge.physics.limits import check_within
from knowledge.physics.viscosity import kinematic_viscosity_from_z_mm2_s, viscosity_z

_ROUNDING = 1e-9


def blended_viscosity_mm2_s(*, first_share: float, first_kv_mm2_s: float, second_kv_mm2_s: float) -> float:
    """Kinematic viscosity of two oils mixed, from their viscosities at the same temperature.

    W = log10 log10 Z;   W_blend = x·W_1 + (1 - x)·W_2      (x by volume, Z the full form of ASTM D341)

    Valid for shares from 0 to 1 and viscosities from 0.21 to 2e7 mm²/s; outside, raises OutOfRange. Shares by
    mass may stand in for shares by volume where the densities are alike. The practice leaves out oils with
    viscosity improvers and additive packages, so that for finished oils the result is an estimate.
    Departs from the source: where Z jumps (just below 2 mm²/s) the result is held between its two components.

    Args:
        first_share: x, volume of the first oil in the mixture [-].
        first_kv_mm2_s: kinematic viscosity of the first oil [mm²/s].
        second_kv_mm2_s: kinematic viscosity of the second oil at that temperature [mm²/s].

    Sources: astm-d7152-23 (the procedure that needs one temperature; formula from memory), astm-d341-20 (Z);
        checked by golden case astm-d7152-23--half-32-half-220.
    """
    check_within(quantity="share", value=first_share, low=0.0, high=1.0, unit="")
    first, second = _log_log_z(first_kv_mm2_s), _log_log_z(second_kv_mm2_s)
    z = 10.0**10.0 ** (first_share * first + (1.0 - first_share) * second)
    thin, thick = sorted((first_kv_mm2_s, second_kv_mm2_s))
    least, most = sorted(viscosity_z(kinematic_viscosity_mm2_s=value) for value in (thin, thick))
    return min(max(kinematic_viscosity_from_z_mm2_s(z=min(max(z, least), most)), thin), thick)


def _log_log_z(kinematic_viscosity_mm2_s: float) -> float:
    return log10(log10(viscosity_z(kinematic_viscosity_mm2_s=kinematic_viscosity_mm2_s)))


def share_left(*, drained_share: float, rounds: int) -> float:
    """Share of the old fill that is left in a box after some rounds of draining and refilling.

    s = (1 - d)^n

    Rests on perfect mixing between the rounds, which takes a run; without one the next drain brings out more
    of the new fluid than of the old. Valid for 0 < d <= 1; outside, raises OutOfRange.

    Args:
        drained_share: d, volume drained in each round over the whole fill [-].
        rounds: n, drains each followed by a refill to the old level.

    Sources: balance of volumes; checked by golden case volume-balance--three-halves.
    """
    _check_drained(drained_share)
    check_within(quantity="rounds", value=rounds, low=0, unit="")
    return (1.0 - drained_share) ** rounds


def rounds_to_share(*, drained_share: float, wanted_share: float) -> int:
    """Rounds of draining and refilling until no more than a wanted share of the old fill is left.

    n = ceil(log s / log(1 - d));   1 where all of it drains

    Rests on perfect mixing, as share_left. Valid for 0 < d <= 1 and 0 < s <= 1; outside, raises OutOfRange.

    Args:
        drained_share: d, volume drained in each round over the whole fill [-].
        wanted_share: s, share of the old fill that may stay [-].

    Sources: balance of volumes, solved for n; checked by golden case volume-balance--rounds-to-a-tenth.
    """
    _check_drained(drained_share)
    check_within(quantity="wanted share", value=wanted_share, low=0.0, high=1.0, unit="", low_included=False)
    if 1.0 - drained_share <= wanted_share:
        return 1
    return ceil(log(wanted_share) / log1p(-drained_share) - _ROUNDING)


def _check_drained(drained_share: float) -> None:
    check_within(quantity="drained share", value=drained_share, low=0.0, high=1.0, unit="", low_included=False)
