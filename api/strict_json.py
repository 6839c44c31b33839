"""JSON read strictly: UTF-8 only, no name twice, no number that is not finite, no half characters."""

import json
import math
import re
from collections import Counter
from typing import Any, NoReturn

PLAIN_NAME = re.compile(r"[a-z0-9_]{1,60}")


class MalformedJson(ValueError):
    """The bytes are not JSON that can be trusted; offset counts characters from 0, None where it is not known."""

    def __init__(self, reason: str, offset: int | None = None) -> None:
        super().__init__(reason)
        self.reason = reason
        self.offset = offset


def parse(body: bytes) -> Any:
    """The value written in these bytes.

    Errors: MalformedJson, with a reason in plain words that repeats nothing of the text.
    """
    try:
        text = body.decode("utf-8")
    except UnicodeDecodeError as error:
        raise MalformedJson("The text is not UTF-8.", error.start) from None
    if text.startswith("\ufeff"):
        raise MalformedJson("The text starts with a byte order mark; send plain UTF-8 without one.", 0)
    try:
        value = json.loads(
            text, object_pairs_hook=_object, parse_float=_finite, parse_int=_whole, parse_constant=_constant
        )
        if "\\u" in text:
            _refuse_half_characters(value)
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, column {error.colno}"
        reason = error.msg.removesuffix(" at").removesuffix(" starting")
        raise MalformedJson(f"The text stops being JSON at {where}: {reason}.", error.pos) from None
    except RecursionError:
        raise MalformedJson("Objects and lists are nested too deeply.") from None
    return value


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    result = dict(pairs)
    if len(result) < len(pairs):
        twice = Counter(name for name, _ in pairs).most_common(1)[0][0]
        called = f" ({twice})" if PLAIN_NAME.fullmatch(twice) else ""
        raise MalformedJson(f"The same name{called} stands twice in one object.")
    return result


def _finite(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise MalformedJson("A number is too large.")
    return value


def _whole(text: str) -> int:
    _finite(text)
    return int(text)


def _constant(_: str) -> NoReturn:
    raise MalformedJson("NaN and Infinity are not JSON numbers; leave the field out when the number is not known.")


def _refuse_half_characters(value: Any) -> None:
    try:
        json.dumps(value, ensure_ascii=False).encode("utf-8")
    except UnicodeEncodeError:
        raise MalformedJson("A text holds half of a surrogate pair, which is no character.") from None
