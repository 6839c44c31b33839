"""JSON read strictly: UTF-8 only, no name twice, no number that is not finite, no half characters."""

import json
import math
import re
from collections import Counter
from itertools import takewhile
from typing import Any, NamedTuple

PLAIN_NAME = re.compile(r"[a-z0-9_]{1,60}")
Place = tuple[str | int, ...]


class MalformedJson(ValueError):
    """The bytes are not JSON that can be trusted; offset counts characters from 0, None where it is not known."""

    def __init__(self, reason: str, offset: int | None = None, place: Place = ()) -> None:
        super().__init__(reason)
        self.reason = reason
        self.offset = offset
        self.place = place


class _Unusable(NamedTuple):
    """Stands where something cannot be used until its place is known."""

    reason: str


HALF_CHARACTER = _Unusable("A text holds half of a surrogate pair, which is no character.")


class _Reader:
    """Reads the parts of a text and remembers whether all of them can be used."""

    def __init__(self) -> None:
        self.is_usable = True

    def object(self, pairs: list[tuple[str, Any]]) -> Any:
        result = dict(pairs)
        if len(result) == len(pairs):
            return result
        twice = Counter(name for name, _ in pairs).most_common(1)[0][0]
        called = f" ({twice})" if PLAIN_NAME.fullmatch(twice) else ""
        return self._refuse(f"The same name{called} stands twice in one object.")

    def fraction(self, text: str) -> Any:
        value = float(text)
        return value if math.isfinite(value) else self._refuse("A number is too large.")

    def whole(self, text: str) -> Any:
        value = self.fraction(text)
        return int(text) if isinstance(value, float) else value

    def constant(self, _: str) -> _Unusable:
        return self._refuse("NaN and Infinity are not JSON numbers; leave the field out when the number is not known.")

    def _refuse(self, reason: str) -> _Unusable:
        self.is_usable = False
        return _Unusable(reason)


def parse(body: bytes) -> Any:
    """The value written in these bytes.

    Errors: MalformedJson, with its place and a reason in plain words that repeats nothing of the text.
    """
    try:
        text = body.decode("utf-8")
    except UnicodeDecodeError as error:
        raise MalformedJson("The text is not UTF-8.", len(body[: error.start].decode())) from None
    if text.startswith("\ufeff"):
        raise MalformedJson("The text starts with a byte order mark; send plain UTF-8 without one.", 0)
    reader = _Reader()
    try:
        value = json.loads(
            text,
            object_pairs_hook=reader.object,
            parse_float=reader.fraction,
            parse_int=reader.whole,
            parse_constant=reader.constant,
        )
        if not reader.is_usable or ("\\u" in text and not _is_whole(json.dumps(value, ensure_ascii=False))):
            place, unusable = _first_unusable(value)
            raise MalformedJson(unusable.reason, place=place)
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, column {error.colno}"
        reason = error.msg.removesuffix(" at").removesuffix(" starting")
        raise MalformedJson(f"The text stops being JSON at {where}: {reason}.", error.pos) from None
    except RecursionError:
        raise MalformedJson("Objects and lists are nested too deeply.") from None
    return value


def _first_unusable(value: Any) -> tuple[Place, _Unusable]:
    """What cannot be used, and its place; a name that is none is told at its object. Takes one step for each part."""
    place: list[str | int] = []
    levels = [iter([(0, value)])]
    while levels:
        for step, part in levels[-1]:
            if unusable := _flaw(part):
                return _told((*place[1:], step) if place else ()), unusable
            if isinstance(part, (dict, list)):
                place.append(step)
                levels.append(iter(part.items() if isinstance(part, dict) else enumerate(part)))
                break
        else:
            levels.pop()
            if place:
                place.pop()
    raise AssertionError("something was found that cannot be used")


def _flaw(part: Any) -> _Unusable | None:
    """What is wrong with a part itself, or with the names of an object."""
    if isinstance(part, _Unusable):
        return part
    texts = (part,) if isinstance(part, str) else part if isinstance(part, dict) else ()
    return None if all(map(_is_whole, texts)) else HALF_CHARACTER


def _told(place: Place) -> Place:
    """As much of a place as repeats no more than plain names."""
    return tuple(takewhile(lambda step: isinstance(step, int) or PLAIN_NAME.fullmatch(step), place))


def _is_whole(text: str) -> bool:
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True
