"""The address of a question: its flat fields and nothing blank, so that a form, a link and an answer say the same."""

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import TypeVar
from urllib.parse import urlencode

from knowledge.box.question import FLAT_PARTS, FLAT_RING_FIELDS, PARTS_OF_RINGS, FillQuestion, FlatFillQuestion
from knowledge.fill.answer import FillAnswer
from knowledge.text import value_text

Answer = TypeVar("Answer", bound=FillAnswer)
FIELDS = tuple(FlatFillQuestion.model_fields)
# What the parts of a question stand for in a link; any other part stands for its own name.
PREFIXES = {**dict.fromkeys(("", "rings", "question", "label"), ""), **FLAT_PARTS}
# The fields that an address repeats; their values hold no blank, so here they stand in one text.
SEVERAL = frozenset({"unanswerable", "symptoms", "fluid_state", "other_facing"})
# As it is typed or copied from a page: a true minus, and a comma before decimals that cannot set thousands apart.
TYPED_NUMBER = re.compile(r"[-\N{MINUS SIGN}]?\d+(,\d{1,2}|\.\d+)?")
FREE_TEXT = ("name", "note", "grade")
OTHER_FACING = re.compile(r"/?(question/)?rings/([1-9]\d*)/facing").fullmatch


def repeated(given: Iterable[tuple[str, str]]) -> list[str]:
    """The names that an address sets more than once and must not."""
    counts = Counter(name for name, value in given if value.strip())
    return [name for name, count in counts.items() if count > 1 and name not in SEVERAL]


def cleaned(given: Iterable[tuple[str, str]]) -> dict[str, str]:
    """What a form sends, with numbers as links hold them.

    Without the fields left at *don't know* and without parts of rings that are not there.
    """
    stated = [(name, _typed(name, value.strip())) for name, value in given if value.strip()]
    values = dict(stated)
    for several in SEVERAL & values.keys():
        every = " ".join(value for name, value in stated if name == several)
        values[several] = " ".join(dict.fromkeys(every.split()))
    if values.get("facing") == "none":
        for name in PARTS_OF_RINGS:
            values.pop(name, None)
    return values


def _typed(name: str, value: str) -> str:
    """A number as links hold it, and any other value as it is."""
    if name.endswith(FREE_TEXT) or not TYPED_NUMBER.fullmatch(value):
        return value
    return value.replace("\N{MINUS SIGN}", "-").replace(",", ".")


def at_the_counter(given: Iterable[tuple[str, str]]) -> dict[str, str]:
    """The same of a page at the counter, where the shelf is always at hand."""
    return {name: value for name, value in cleaned(given).items() if name != "use_shelf"}


def box_of(values: Mapping[str, str]) -> dict[str, str]:
    """What of an address is said of the box."""
    return {name: value for name, value in values.items() if name in FIELDS}


def as_given(values: Mapping[str, str]) -> dict[str, str | list[str]]:
    """The same as a model of a link reads it."""
    return {name: value.split() if name in SEVERAL else value for name, value in values.items()}


def pairs(values: Mapping[str, str]) -> list[tuple[str, str]]:
    """The parameters of an address, in the order of the fields."""
    names = (*(name for name in FIELDS if name in values), *(name for name in values if name not in FIELDS))
    return [(name, one) for name in names for one in (values[name].split() if name in SEVERAL else (values[name],))]


def is_tidy(given: Sequence[tuple[str, str]], values: Mapping[str, str]) -> bool:
    """Whether an address holds just these values; one that repeats a field is left as it is, to be refused."""
    return sorted(given) == sorted(pairs(values)) or bool(repeated(given))


def address(page: str, values: Mapping[str, str], **changes: str) -> str:
    """A link to a page about this question, relative to the pages."""
    query = urlencode(pairs(cleaned({**values, **changes}.items())))
    return f"{page}?{query}" if query else page


def linked(answer: Answer, service: str) -> Answer:
    """An answer whose link to its full self begins with the address of the service."""
    return answer.model_copy(update={"full": f"{service}{answer.full}"}) if service and answer.full else answer


def field_of(pointer: str) -> str:
    """The flat field that a place in a question stands for: `/rings/0/facing` is `facing`, and so is `/rings`."""
    if pointer == "/rings":
        return "facing"
    if OTHER_FACING(pointer):
        return "other_facing"
    *parts, name = [step for step in pointer.split("/") if not step.isdigit()] or [pointer]
    return "".join(PREFIXES.get(part, f"{part}_") for part in parts) + name


def flat_fields(question: FillQuestion) -> dict[str, str]:
    """A question as the flat fields of an address, as far as they hold it.

    Of several ring sets they hold the facings; what else is known of them is described one by one.
    """
    flat = {name: value for name in FIELDS if (value := getattr(question, name, None)) is not None}
    flat["unanswerable"] = " ".join(question.unanswerable)
    ring, *others = question.rings or (None,)
    flat["other_facing"] = " ".join(
        dict.fromkeys(one.facing for one in others if one and one.facing and ring and one.facing != ring.facing)
    )
    if question.rings == ():
        flat["facing"] = "none"
    elif ring:
        flat |= ring.model_dump(include={"facing"} if others else set(FLAT_RING_FIELDS), exclude_none=True)
    now = question.in_it_now.label if question.in_it_now else None
    named = ring.fluid_named if ring and not others else None
    parts = {"service_data": question.service_data, "fluid_named": named, "in_it_now": now}
    for part, given in parts.items():
        flat |= {f"{FLAT_PARTS[part]}{name}": value for name, value in given or () if value is not None}
    return {name: value_text(value) for name, value in flat.items()}
