"""How the outcome of a shift is put into words."""

from collections.abc import Sequence

from knowledge.shift_judging import JudgedRing

HOW_JUDGED = (
    "Torque, time, heat and blocking are worked out at the low end of the friction, wedging at the high end of "
    "friction at rest.",
    "Most limits of facings are recalled or judged and not read in a source: going over such a limit warns and does "
    "not condemn. Only a limit of good standing condemns, and so does a ring that grinds, wedges or never gets there.",
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
