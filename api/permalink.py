"""The address of a question: its flat fields and nothing blank, so that a form, a link and an answer say the same."""

from collections import Counter
from collections.abc import Iterable, Mapping
from urllib.parse import urlencode

from knowledge.box.question import FlatFillQuestion

PARTS_OF_RINGS = ("body", "cones", "condition")
FIELDS = tuple(FlatFillQuestion.model_fields)


def repeated(given: Iterable[tuple[str, str]]) -> list[str]:
    """The names that an address gives more than once."""
    return [name for name, count in Counter(name for name, _ in given).items() if count > 1]


def cleaned(given: Iterable[tuple[str, str]]) -> dict[str, str]:
    """What a form sends, without the fields left at *don't know* and without parts of rings that are not there."""
    values = {name: value.strip() for name, value in given if value.strip()}
    if values.get("facing") == "none":
        for name in PARTS_OF_RINGS:
            values.pop(name, None)
    return values


def address(page: str, values: Mapping[str, str], **changes: str) -> str:
    """A link to a page about this question, relative to the pages; in the order of the fields."""
    stated = cleaned({**values, **changes}.items())
    known = [(name, stated.pop(name)) for name in FIELDS if name in stated]
    query = urlencode((*known, *stated.items()))
    return f"{page}?{query}" if query else page


def field_of(pointer: str) -> str:
    """The flat field that a place in a question stands for: `/rings/0/facing` is `facing`, and so is `/rings`."""
    if pointer == "/rings":
        return "facing"
    if pointer.startswith("/service_data/"):
        return f"service_{pointer.rpartition('/')[2]}"
    return pointer.rpartition("/")[2]
