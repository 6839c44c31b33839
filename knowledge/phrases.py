"""How several words become one phrase."""

from collections.abc import Iterable


def listed(words: Iterable[str], joint: str) -> str:
    """`a, b or c`."""
    *head, last = words
    return f"{', '.join(head)} {joint} {last}" if head else last
