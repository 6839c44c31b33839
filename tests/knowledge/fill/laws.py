"""What holds of the fill of any box, whatever the trade's custom says of it.

Each law takes a stated box, a way to ask, the classes and a random source for what it changes, and tells how it is
broken. Oils are compared by the middle of their class.
"""

import random
import re
from collections.abc import Callable, Iterator, Mapping
from itertools import combinations, pairwise
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
ONLY_THE_BOOK = "then only what the book names"
STEPS = ("free", "slow", "hard")
W_LIMIT_C = {"70W": -55, "75W": -40, "80W": -26, "85W": -12}
AXLE_OILS = ("gl-5", "gl-5-limited-slip", "gl-4-gl-5")
FROM_BEST = ("fits", "fits-with-care", "depends", "does-not-fit")


def colder_never_leads_to_what_is_thicker(box: Box, ask: Ask, oils: Oils, chance: random.Random) -> Iterator[str]:
    """Of two starts the colder one has a leader that is no thicker at that cold, and nothing becomes fit by the cold.

    First shifts with one and the same oil never come easier in the colder start, and nothing is told as fitting where
    it is colder than its W grade is tested at (SAE J306).
    """
    box = {**box, **chance.choice(({}, {}, {"sump_hot_c": chance.randrange(80, 151, 5)}))}
    temperatures = sorted({box["coldest_start_c"], -20, -30, *chance.sample(range(-45, 11, 5), 1)}, reverse=True)
    answers = {at: ask({**box, "coldest_start_c": at}) for at in temperatures}
    yield from _nothing_becomes_fit(answers, "°C")
    for at, answer in answers.items():
        told = (id for id, verdict in verdicts(answer).items() if FROM_BEST[verdict] != "does-not-fit")
        yield from (f"{id} at {at} °C" for id in told if W_LIMIT_C.get(oils[id].grade.split("-")[0], at) > at)
    for warm, cold in combinations(temperatures, 2):
        first, second = leader_id(answers[warm]), leader_id(answers[cold])
        if not (first and second):
            continue
        if middle(oils[second], cold) > TWINS * middle(oils[first], cold):
            yield f"{first} at {warm} °C, {second} at {cold} °C"
        steps = [shifts and STEPS.index(shifts["step"]) for shifts in map(first_shifts, (answers[warm], answers[cold]))]
        if first == second and None not in steps and steps[0] > steps[1]:
            yield f"first shifts with {first} come easier at {cold} than at {warm} °C"


def hotter_never_leads_to_what_is_thinner(box: Box, ask: Ask, oils: Oils, chance: random.Random) -> Iterator[str]:
    """Of two stated sumps the hotter one has a leader no thinner at that heat, and nothing becomes fit by the heat."""
    temperatures = sorted(chance.sample(range(80, 151, 5), 3))
    answers = {at: ask({**box, "sump_hot_c": at}) for at in temperatures}
    yield from _nothing_becomes_fit(answers, "°C hot")
    for cool, hot in combinations(temperatures, 2):
        first, second = leader_id(answers[cool]), leader_id(answers[hot])
        if first and second and middle(oils[second], hot) < middle(oils[first], hot) / TWINS:
            yield f"{first} at {cool} °C, {second} at {hot} °C"


def _nothing_becomes_fit(answers: Mapping[Any, dict[str, Any]], unit: str) -> Iterator[str]:
    """Of answers from the easiest box to the hardest, what is refused in one is refused in all that follow."""
    for easy, hard in pairwise(answers):
        lost = sorted(refused(answers[easy]) - refused(answers[hard]))
        yield from (f"{id} is refused at {easy} {unit} and not at {hard}" for id in lost)
        if leader_id(answers[hard]) and not leader_id(answers[easy]):
            yield f"nothing leads at {easy} {unit}, {leader_id(answers[hard])} at {hard}"


def yellow_metal_never_turns_a_refusal_into_a_fit(box: Box, ask: Ask, oils: Oils, _: random.Random) -> Iterator[str]:
    """What is refused without yellow metal in the oil is refused with it, and none is told of as better with it.

    Beside it no axle oil just fits: full additives of extreme pressure take copper alloys, and only a strip proves
    that one of them does not (ASTM D130; SAE 2018-01-0656).
    """
    answers = {there: ask({**box, "yellow_metal": there}) for there in (False, True)}
    yield from _nothing_becomes_fit(answers, "for yellow metal")
    without, with_it = map(verdicts, answers.values())
    yield from (f"{id} is better with yellow metal" for id in without.keys() & with_it if without[id] > with_it[id])
    fitting = (id for id in with_it if FROM_BEST[with_it[id]] == "fits")
    yield from (f"{id} fits beside yellow metal" for id in fitting if oils[id].family.id in AXLE_OILS)


# What nobody tries, an open answer cannot speak for.
COLDEST_TRIED_C = -30


def more_known_never_contradicts(box: Box, ask: Ask, oils: Oils, chance: random.Random) -> Iterator[str]:
    """Where it was settled with something open, stating that keeps the leader, but for what `unless` tells."""
    for name in chance.sample(sorted(NAMED_BY), 3):
        if (name == "coldest_start_c" and box[name] < COLDEST_TRIED_C) or _corrects(name, box):
            continue
        others = chance.sample(sorted({*NAMED_BY} - {name}), chance.choice((0, 0, 1, 2)))
        told = {field: value for field, value in box.items() if field not in others}
        before = ask({field: value for field, value in told.items() if field != name})
        if before["outcome"] != "settled":
            continue
        kept = {leader_id(before), *before["leader"]["alike"]}
        now = leader_id(ask(told))
        then = ONLY_THE_BOOK if now is None else f"then {oils[now].short_name}"
        twins = {then, re.sub("MTF", "GL-4", then), re.sub("GL-4", "MTF", then)}
        lines = [line for line in before["unless"] if re.search(NAMED_BY[name], line)]
        if now not in kept and not any(line.endswith(tuple(twins)) for line in lines):
            yield f"{leader_id(before)} with {name} open, {now} once it is stated, {sorted(others)} open"


def _corrects(name: str, box: Box) -> bool:
    """Whether stating something corrects what was said: a pack without a final drive, copper rings and no copper."""
    if name in ("limited_slip", "final_drive"):
        return box["limited_slip"] and box["final_drive"] == "none"
    copper = any(ring["facing"] in ("bronze", "sintered") or ring["body"] == "bronze" for ring in box["rings"])
    return name in ("rings", "yellow_metal") and copper and not box["yellow_metal"]


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


def first_shifts(answer: dict[str, Any]) -> dict[str, Any] | None:
    """How first shifts with the leader go."""
    return answer["leader"] and answer["leader"]["first_shifts"]


def verdicts(answer: dict[str, Any]) -> dict[str, int]:
    """The verdict on each class that is told of, 0 for the best."""
    told = [answer["leader"]] if answer["leader"] else []
    return {one["lubricant"]["id"]: FROM_BEST.index(one["verdict"]) for one in (*told, *answer["others"])}


def refused(answer: dict[str, Any]) -> set[str]:
    """The classes that do not fit."""
    return {id for refusal in answer["refused"] for id in refusal["lubricants"]}


def middle(oil: Lubricant, temperature_c: float) -> float:
    """Kinematic viscosity [mm²/s] in the middle of a class, the geometric mean of its edges; infinite where it sets."""
    try:
        return sqrt(prod(oil.viscosity_span_mm2_s(temperature_c)))
    except OutOfRange:
        return inf
