"""The nearest known spelling of a word that is not known."""

import difflib
from collections.abc import Iterable


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word that looks most like this one, or None when none comes close."""
    close = difflib.get_close_matches(word.lower(), tuple(known), n=1)
    return close[0] if close else None
