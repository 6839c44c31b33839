"""How the outcome of a shift is put into words."""

from collections.abc import Sequence

from knowledge.shift.judge import JudgedRing
from knowledge.shift.rules.limits import is_binding
from knowledge.text import listed

HOW_JUDGED = (
    "Torque, time and blocking are taken at the low end of friction; energy, power and heat at the end that is worse.",
    "A ring counts as wedging where the friction that is usual at rest is enough for it.",
    "Most limits of facings are recalled or judged and not read in a source: to go over one warns and does not "
    "condemn.",
    "A limit of good standing is_binding, and so does a ring that grinds, wedges or never gets there.",
    "The temperature of the face is that of a true cone that touches everywhere: the real one is hotter.",
)

OUTSIDE = {
    "blocking": "it does not block at low friction",
    "release": "it tends to wedge",
    "index": "drag makes it feel blocked",
    "wiping": "its film is not wiped away in time",
    "drag": "drag wins and the speeds never match",
    "sliding_speed_m_s": "it slides faster than its limit",
    "specific_energy_j_mm2": "the energy goes over its limit",
    "mean_power_w_mm2": "the power goes over its limit",
    "pressure_n_mm2": "the pressure goes over its limit",
    "interface_temperature_c": "the face goes over its temperature limit",
    "bulk": "ring and cone get too hot",
    "taper": "ring and cone differ in angle",
    "fluid": "the fluid does not serve it",
}

# What refuses by itself is told before what only lies farthest outside.
GRAVEST_FIRST = ("drag", "blocking", "fluid", "bulk")


def summary(judged: Sequence[JudgedRing]) -> str:
    """One plain sentence of at most 140 characters, of the best facing, and that service data decides."""
    return f"{_sentence(judged)} The manufacturer's service data decides."


def _sentence(judged: Sequence[JudgedRing]) -> str:
    best = judged[0]
    words = best.base.facings[best.shift.facing].words
    name = words[0].upper() + words[1:]
    if best.verdict == "does-not-fit":
        if len(judged) > 1:
            return f"No facing stands this shift. Nearest is {words}: {_why(best)}."
        return f"{name} does not stand it: {_why(best)}."
    others = sum(item.verdict == best.verdict for item in judged) - 1
    leads = f"{name} leads of {others + 1}" if others else name
    if best.verdict == "fits":
        return f"{leads} {'that stand' if others else 'stands'} this shift."
    return f"{leads} {'that stand' if others else 'stands'} it with care: {_why(best)}."


def _why(judged: JudgedRing) -> str:
    outside = judged.ratios
    grave = [criterion for criterion in GRAVEST_FIRST if outside.get(criterion, 0) > 1]
    return OUTSIDE[grave[0] if grave else max(outside, key=lambda criterion: outside[criterion])]


def verdict_text(judged: JudgedRing) -> str:
    """The verdict in words, with what stands behind it and how much that can bear."""
    outside = [criterion for criterion, ratio in judged.ratios.items() if ratio > 1]
    if not outside:
        return "Inside every limit we have."
    warning = [row for row in judged.limits.values() if row.quantity in outside and not is_binding(row.standing)]
    others = [OUTSIDE[criterion] for criterion in outside if criterion not in {row.quantity for row in warning}]
    told = [f"Outside: {listed(others, 'and')}."] if others else []
    if warning:
        many = f"{len(warning)} limits that are" if len(warning) > 1 else "1 limit that is"
        does = "they warn and do not condemn" if len(warning) > 1 else "it warns and does not condemn"
        told.append(f"Over {many} recalled or judged and not read in a source: {does}.")
    return " ".join(told)
