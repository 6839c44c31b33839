"""How the outcome of a shift is put into words."""

from collections.abc import Sequence

from knowledge.shift.digits import shown_limit
from knowledge.shift.judge import JudgedRing
from knowledge.shift.loaded_ring import LoadedRing
from knowledge.shift.rules.limits import is_binding
from knowledge.text import listed

HOW_JUDGED = (
    "Torque, time and blocking are taken at the low end of friction; energy, power and heat at the end that is worse.",
    "A ring counts as wedging where the friction that is usual at rest is enough for it.",
    "Most limits of facings are recalled or judged and not read in a source: to go over one warns and does not refuse.",
    "A limit of good standing refuses, and so does a ring that grinds, wedges or never gets there.",
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

# What refuses by itself is named before what only lies farthest outside.
GRAVEST_FIRST = ("drag", "blocking", "fluid", "bulk")


def summary(judged: Sequence[JudgedRing]) -> str:
    """One plain sentence of at most 140 characters, of the best facing, and that service data decides."""
    return f"{_sentence(judged)} The manufacturer's service data decides."


def _sentence(judged: Sequence[JudgedRing]) -> str:
    best = judged[0]
    words = best.ring.words
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
    ratios = judged.ring.ratios
    grave = [criterion for criterion in GRAVEST_FIRST if ratios.get(criterion, 0) > 1]
    return OUTSIDE[grave[0] if grave else max(ratios, key=lambda criterion: ratios[criterion])]


def verdict_text(judged: JudgedRing) -> str:
    """The verdict in words, with what stands behind it and how much that can bear."""
    outside = [criterion for criterion, ratio in judged.ring.ratios.items() if ratio > 1]
    if not outside:
        return "Inside every limit we have."
    warning = [
        row.quantity for row in judged.ring.limits.values() if row.quantity in outside and not is_binding(row.standing)
    ]
    refusing = [OUTSIDE[criterion] for criterion in outside if criterion not in warning]
    sentences = [f"Outside: {listed(refusing, 'and')}."] if refusing else []
    if warning:
        many = f"{len(warning)} limits" if len(warning) > 1 else "1 limit"
        does = "they warn and do not refuse" if len(warning) > 1 else "it warns and does not refuse"
        sentences.append(f"Over {many} that we recall or judge and did not read: {does}.")
    return " ".join(sentences)


def drag_wins(ring: LoadedRing) -> str:
    """Why the speeds never match."""
    drag = ring.computed_limit("drag_nm", ring.shift.drag_nm)
    torque = ring.shown_beside("cone_torque_nm", ring.figures.cone_torque_nm, drag)
    return f"Drag wins: the cones' {torque} N·m do not overcome {shown_limit(drag)} N·m of drag."
