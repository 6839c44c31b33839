"""What holds of the fill of any box, whatever the trade's custom says of it.

Each law takes a stated box, a way to ask, the classes and a random source for what it changes, and tells how it is
broken. Oils are compared by the middle of their class.
"""

import random
import re
from collections.abc import Callable, Iterator, Mapping
from itertools import combinations
from math import inf, prod, sqrt
from typing import Any

from knowledge.lubricant import Lubricant
from knowledge.physics.limits import OutOfRange

Box = dict[str, Any]
Ask = Callable[..., dict[str, Any]]
Oils = Mapping[str, Lubricant]
Law = Callable[[Box, Ask, Oils, random.Random], Iterator[str]]

# Two families at one grade differ by the bands that are assumed of them, and by no more than this.
TWINS = 1.1
NAMED_BY = {
    "rings": "ring|lin(ed|ing)",
    "yellow_metal": "yellow|copper|bronze|brass",
    "final_drive": "hypoid|helical|final drive",
    "limited_slip": "slip|pack|plate",
    "wet_clutch": "wet clutch",
    "coldest_start_c": "cold|°C|winter|frost",
    "duty": "tow|track|compet|highway|hill|street",
}


def colder_never_leads_to_what_is_thicker(box: Box, ask: Ask, oils: Oils, chance: random.Random) -> Iterator[str]:
    """Of two starts the colder one has a leader that is no thicker at that cold."""
    temperatures = sorted({box["coldest_start_c"], -20, -30, *chance.sample(range(-45, 11, 5), 1)}, reverse=True)
    led = {at: leader_id(ask({**box, "coldest_start_c": at})) for at in temperatures}
    for warm, cold in combinations(temperatures, 2):
        if led[warm] and led[cold] and middle(oils[led[cold]], cold) > TWINS * middle(oils[led[warm]], cold):
            yield f"{led[warm]} at {warm} °C, {led[cold]} at {cold} °C"


def hotter_never_leads_to_what_is_thinner(box: Box, ask: Ask, oils: Oils, chance: random.Random) -> Iterator[str]:
    """Of two stated sumps the hotter one has a leader that is no thinner at that heat."""
    temperatures = sorted(chance.sample(range(80, 151, 5), 3))
    led = {at: leader_id(ask({**box, "sump_hot_c": at})) for at in temperatures}
    for cool, hot in combinations(temperatures, 2):
        if led[cool] and led[hot] and middle(oils[led[hot]], hot) < middle(oils[led[cool]], hot) / TWINS:
            yield f"{led[cool]} at {cool} °C, {led[hot]} at {hot} °C"


def yellow_metal_never_turns_a_refusal_into_a_fit(box: Box, ask: Ask, oils: Oils, _: random.Random) -> Iterator[str]:
    """What is refused without yellow metal in the oil is refused with it, and what has no leader gets none."""
    without, with_it = (ask({**box, "yellow_metal": there}, detail="full") for there in (False, True))
    refused = {one["lubricant"]["id"] for one in without["candidates"] if one["verdict"] == "does-not-fit"}
    for one in with_it["candidates"]:
        if one["verdict"] in ("fits", "fits-with-care") and one["lubricant"]["id"] in refused:
            yield f"{one['lubricant']['id']} is refused without yellow metal only"
    if with_it["leader"] and not without["leader"]:
        yield "nothing leads without yellow metal only"


# What nobody tries, an open answer cannot speak for.
COLDEST_TRIED_C = -30


def more_known_never_contradicts(box: Box, ask: Ask, oils: Oils, chance: random.Random) -> Iterator[str]:
    """Where it was settled with something open, stating that keeps the leader, but for what `unless` names."""
    for name in chance.sample(sorted(NAMED_BY), 3):
        if name == "coldest_start_c" and box[name] < COLDEST_TRIED_C:
            continue
        before = ask({field: value for field, value in box.items() if field != name})
        if before["outcome"] != "settled":
            continue
        kept = {leader_id(before), *before["leader"]["alike"]}
        now = leader_id(ask(box))
        if now not in kept and not any(re.search(NAMED_BY[name], line) for line in before["unless"]):
            yield f"{leader_id(before)} with {name} open, {now} once it is stated"


def five_degrees_never_flip_the_family_and_back(box: Box, ask: Ask, oils: Oils, chance: random.Random) -> Iterator[str]:
    """Of three starts five degrees apart the middle one is not led by another family than both its neighbours."""
    start = chance.choice((-5, -10, -15, -20, -25, -30))
    led = [leader_id(ask({**box, "coldest_start_c": start - step})) for step in (0, 5, 10)]
    if all(led) and len(families := [oils[id].family.id for id in led]) and families[0] == families[2] != families[1]:
        yield f"{led} from {start} °C down"


LAWS: tuple[Law, ...] = (
    colder_never_leads_to_what_is_thicker,
    hotter_never_leads_to_what_is_thinner,
    yellow_metal_never_turns_a_refusal_into_a_fit,
    more_known_never_contradicts,
    five_degrees_never_flip_the_family_and_back,
)


def leader_id(answer: dict[str, Any]) -> str | None:
    """The class that leads; None where nothing does."""
    return answer["leader"] and answer["leader"]["lubricant"]["id"]


def middle(oil: Lubricant, temperature_c: float) -> float:
    """Kinematic viscosity [mm²/s] in the middle of a class, the geometric mean of its edges; infinite where it sets."""
    try:
        return sqrt(prod(oil.viscosity_span_mm2_s(temperature_c)))
    except OutOfRange:
        return inf
