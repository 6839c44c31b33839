"""The square code of a slip: what a phone reads there."""

import re

import segno


def number_on(slip: str) -> str:
    """The number that is printed on a slip, as a link holds it."""
    return re.search(r"Slip number <b>([0-9A-Z ]+)</b>", slip)[1].replace(" ", "")


def drawn(link: str) -> str:
    """The drawn part of the code that holds this link and no other."""
    return re.search(r' d="[^"]+"', segno.make(link, error="l", micro=False).svg_inline(scale=2, border=1))[0]
