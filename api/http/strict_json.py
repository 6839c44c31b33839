"""Whether a body is sent as JSON, and JSON read strictly.

UTF-8 only, no repeated names, no NaN or Infinity, no half of a surrogate pair, not too deep.
"""

import json
from codecs import BOM_UTF8
from collections import Counter
from collections.abc import Mapping
from typing import Any

from pydantic_core import from_json

MAX_NAME = 60


class MalformedJson(ValueError):
    """The bytes are not strict JSON; `offset` counts characters from 0 and is None where it is not known."""

    def __init__(self, reason: str, offset: int | None = None) -> None:
        super().__init__(reason)
        self.reason = reason
        self.offset = offset


def parse(body: bytes, *, allow_inf_nan: bool = False) -> Any:
    """The value of a JSON text; NaN and Infinity are let through where a model looks at every number.

    Errors: MalformedJson.
    """
    try:
        body.decode()
        value = from_json(body, allow_inf_nan=allow_inf_nan)
    except UnicodeDecodeError as error:
        raise MalformedJson("The text is not UTF-8.", len(body[: error.start].decode())) from None
    except ValueError as error:
        raise _malformed(body, str(error)) from None
    json.loads(body, object_pairs_hook=_refuse_repeated_names)
    return value


def _malformed(body: bytes, message: str) -> MalformedJson:
    """The error for a message of the parser, which ends in `at line 1 column 11`, counted in bytes."""
    if body.startswith(BOM_UTF8):
        return MalformedJson("The text begins with a byte order mark; leave it out.", 0)
    reason, _, place = message.rpartition(" at line ")
    line, column = (int(number) for number in place.split(" column "))
    before = b"\n".join([*body.split(b"\n")[: line - 1], b""])
    offset = len(body[: len(before) + max(column - 1, 0)].decode(errors="ignore"))
    return MalformedJson(f"The text stops being JSON at line {line}, column {column}: {reason}.", offset)


def _refuse_repeated_names(pairs: list[tuple[str, Any]]) -> None:
    if len(dict(pairs)) < len(pairs):
        name = Counter(name for name, _ in pairs).most_common(1)[0][0]
        shown = f" {name}" if len(name) <= MAX_NAME and name.isidentifier() and name.isascii() else ""
        raise MalformedJson(f"The name{shown} is repeated in one object.")


def media_type_and_parameters(text: str) -> tuple[str, dict[str, str]]:
    """`text/plain; charset="utf-8"` as its type and its parameters, all in lower case; the first of a name counts."""
    kind, *parts = text.lower().split(";")
    parameters: dict[str, str] = {}
    for part in parts:
        name, _, value = part.partition("=")
        parameters.setdefault(name.strip(), value.strip().strip('"'))
    return kind.strip(), parameters


def body_type(headers: Mapping[str, str]) -> str:
    """The media type of a request's body; empty where it is compressed or in another charset than UTF-8."""
    kind, parameters = media_type_and_parameters(headers.get("content-type", ""))
    is_plain = headers.get("content-encoding", "identity").strip().lower() in ("", "identity")
    return kind if is_plain and parameters.get("charset", "utf-8") in ("utf-8", "utf8") else ""


def is_json(kind: str) -> bool:
    """Whether a media type is JSON by any of its names."""
    return kind == "application/json" or (kind.startswith("application/") and kind.endswith("+json"))
