"""What counts as JSON here."""

import math

import pytest

from api.http.strict_json import MalformedJson, parse

REFUSED = {
    "empty": (b"", 0),
    "cut short": (b'{"rings": [', 10),
    "trailing comma": (b"[1,]", 3),
    "single quotes": (b"{'a': 1}", 1),
    "two values": (b"{} {}", 3),
    "the second line, behind letters of several bytes": ('{"äö€": 1,\n "b": ]'.encode(), 17),
    "not UTF-8": (b'{"a": "\xff"}', 7),
    "UTF-16": ('{"a": 1}'.encode("utf-16"), 0),
    "byte order mark": (b"\xef\xbb\xbf{}", 0),
    "same name twice": (b'{"a": 1, "a": 2}', None),
    "same name twice deep down": (b'{"a": [{"b": 1, "b": 1}]}', None),
    "same name twice, once escaped": (rb'{"a": 1, "\u0061": 2}', None),
    "NaN": (b'{"a": NaN}', 6),
    "Infinity": (b"[Infinity]", 1),
    "minus Infinity": (b"[-Infinity]", 2),
    "more digits than Python reads": (b"9" * 5000, 4301),
    "half a surrogate pair": (rb'["\ud800"]', 8),
    "half a surrogate pair in a name": (rb'{"\udfff": 1}', 7),
    "lists nested without end": (b"[" * 100_000, 201),
    "objects nested without end": (b'{"a":' * 100_000, 1005),
}


@pytest.mark.parametrize(("body", "offset"), REFUSED.values(), ids=REFUSED.keys())
def test_text_that_is_no_strict_json_is_refused_with_its_place(body: bytes, offset: int | None) -> None:
    with pytest.raises(MalformedJson) as caught:
        parse(body)
    assert caught.value.offset == offset
    assert caught.value.reason.endswith(".")


@pytest.mark.parametrize(
    ("body", "value"),
    [
        (b"{}", {}),
        (b' {"a": [1, -2.5, 1e3, true, null]} ', {"a": [1, -2.5, 1000.0, True, None]}),
        ('"°C"'.encode(), "°C"),
        (rb'"\ud83d\ude00"', "\U0001f600"),
        (b'{"a": {"a": 1}, "b": {"a": 2}}', {"a": {"a": 1}, "b": {"a": 2}}),
        (b"1e999", math.inf),  # The models refuse it, at its field.
    ],
)
def test_plain_json_is_read(body: bytes, value: object) -> None:
    assert parse(body) == value


@pytest.mark.parametrize(("name", "is_shown"), [("duty", True), ("<b>", False), ("a" * 61, False)])
def test_a_repeated_name_is_shown_only_if_it_is_plain(name: str, is_shown: bool) -> None:
    with pytest.raises(MalformedJson) as caught:
        parse(f'{{"{name}": 1, "{name}": 2}}'.encode())
    assert (name in caught.value.reason) == is_shown


def test_a_repeated_name_among_many_is_found() -> None:
    names = ",".join(f'"n{number}": 1' for number in range(100_000))
    with pytest.raises(MalformedJson, match="repeated"):
        parse(f'{{{names}, "n99999": 2}}'.encode())


def test_a_mark_that_cannot_be_seen_is_named() -> None:
    with pytest.raises(MalformedJson, match="byte order mark"):
        parse(b"\xef\xbb\xbf{}")
