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
    """A link to a page about this question, relative to the pages; what changes is said in the order of the fields."""
    said = cleaned({**values, **changes}.items())
    order = {name: place for place, name in enumerate(FIELDS)}
    query = urlencode(sorted(said.items(), key=lambda item: order.get(item[0], len(order))))
    return f"{page}?{query}" if query else page


def field_of(pointer: str) -> str:
    """The flat field that a place in a question stands for: `/rings/0/facing` is `facing`, and so is `/rings`."""
    if pointer == "/rings":
        return "facing"
    if pointer.startswith("/service_data/"):
        return f"service_{pointer.rpartition('/')[2]}"
    return pointer.rpartition("/")[2]


def flat_values(question: FlatFillQuestion | None) -> dict[str, str]:
    """The fields of a question as they stand in an address."""
    said = question.model_dump(exclude_defaults=True) if question else {}
    return {name: _plain(value) for name, value in said.items()}


def _plain(value: object) -> str:
    """`true`, `-20`, `-20.25` or the text itself."""
    text = f"{value}"
    return text.lower() if isinstance(value, bool) else text.removesuffix(".0") if isinstance(value, float) else text
