"""Fields of questions that speak of the shop's own tables: what is open to the public does not answer them."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from api.http.problems import Refused
from api.wording import Location, ProblemError, pointer

SHOP_FIELDS = frozenset({"box_ref", "use_shelf", "shelf_ref"})
CLOSED = "This service is open to the public and speaks of nothing that a shop has. Leave it out."
MOST_TOLD = 20


def refuse_of_shop(given: Any, location: Location) -> None:
    """Let a question pass that speaks of nothing of the shop; `given` is a body or the pairs of a query.

    Errors: Refused as not-public.
    """
    places = in_body(given) if location == "body" else ((name,) for name, value in given if _speaks(name, value))
    errors = [ProblemError(location=location, pointer=pointer(it), code="not_public", detail=CLOSED) for it in places]
    if errors:
        raise Refused("not-public", f"{errors[0].pointer}: {CLOSED}", errors[:MOST_TOLD])


def _speaks(name: str, value: Any) -> bool:
    return name in SHOP_FIELDS and value is not None and f"{value}".lower() not in ("false", "")


def in_body(value: Any, place: Sequence[str | int] = ()) -> Iterator[Sequence[str | int]]:
    """The places in a body that speak of what the shop has."""
    parts: Iterable[tuple[str | int, Any]] = ()
    if isinstance(value, dict):
        parts = value.items()
    elif isinstance(value, list):
        parts = enumerate(value)
    for name, part in parts:
        if _speaks(f"{name}", part):
            yield (*place, name)
        else:
            yield from in_body(part, (*place, name))
