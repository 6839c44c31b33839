"""Words of the trade that stand in an answer, said plainly for whoever reads it over the counter."""

import re
from collections.abc import Iterable, Iterator
from typing import NamedTuple


class Word(NamedTuple):
    """A word, what shows that it is used, and its meaning."""

    term: str
    used: re.Pattern[str]
    meaning: str


def _word(term: str, used: str, meaning: str) -> Word:
    return Word(term, re.compile(used, re.IGNORECASE), meaning)


WORDS = (
    _word("KV100", r"KV100", "How thick the oil is at 100 °C, in mm²/s, from its data sheet. More is thicker."),
    _word("Cold viscosity", r"ASTM D2983", "How stiff the oil is in frost, measured. Less flows better."),
    _word("Copper strip", r"copper strip", "How a strip of copper looks after hours in hot oil: 1a is best, 4c worst."),
    _word("Friction modifier", r"friction modifier", "What makes an oil more slippery. Rings need their grip."),
    _word("Wipe the film", r"\bwiping\b|\bwipes? (the|its) film", "A ring grips only once it has pressed the oil from between itself and its cone."),
    _word("Bearing viscosity ratio", r"bearing viscosity ratio", "How thick the hot oil is against what the bearings want: 1 is just enough, below it metal touches metal."),
    _word("Gear film ratio", r"gear film|lambda", "The oil film between the teeth against their roughness: below 1 they touch, and additives have to help."),
    _word("Thin edge, thick edge", r"\b(thin|thick) edge", "Oils of one grade differ: the thinnest and the thickest that may carry its name."),
    _word("Baulk", r"baulk", "The lever stands against the gear for a moment, since speeds do not match yet."),
    _word("Extreme-pressure", r"extreme-pressure|\bEP\b", "Additives for teeth that slide under high load. Strong ones attack copper and glaze linings."),
    _word("Yellow metal", r"yellow metal", "Bronze, brass and other copper alloys."),
    _word("Hypoid", r"hypoid", "Bevel gears of an axle whose shafts pass each other: their teeth slide hard."),
    _word("Glaze", r"\bglaz", "A lining whose pores are sealed by burnt oil: smooth, shiny and without grip."),
)  # fmt: skip


def glossed(texts: Iterable[str]) -> Iterator[Word]:
    """The words that occur in some texts."""
    said = "\n".join(texts)
    return (word for word in WORDS if word.used.search(said))
