"""What counts as JSON here."""

import pytest

from api.strict_json import MalformedJson, parse

REFUSED = {
    "empty": (b"", 0),
    "cut short": (b'{"rings": [', 11),
    "trailing comma": (b"[1,]", 3),
    "single quotes": (b"{'a': 1}", 1),
    "two values": (b"{} {}", 3),
    "not UTF-8": (b'{"a": "\xff"}', 7),
    "not UTF-8 behind letters of several bytes": ('{"äö€": "'.encode() + b"\xff", 9),
    "UTF-16": ('{"a": 1}'.encode("utf-16"), 0),
    "byte order mark": (b"\xef\xbb\xbf{}", 0),
    "same name twice": (b'{"a": 1, "a": 2}', None),
    "same name twice deep down": (b'{"a": [{"b": 1, "b": 1}]}', None),
    "NaN": (b'{"a": NaN}', None),
    "Infinity": (b"[Infinity]", None),
    "minus Infinity": (b"[-Infinity]", None),
    "too large a number": (b"[1e999]", None),
    "too long a whole number": (b"9" * 400, None),
    "more digits than Python reads": (b"9" * 5000, None),
    "half a surrogate pair": (rb'["\ud800"]', None),
    "half a surrogate pair in a name": (rb'{"\udfff": 1}', None),
    "lists nested without end": (b"[" * 100_000, None),
    "objects nested without end": (b'{"a":' * 100_000, None),
}


@pytest.mark.parametrize(("body", "offset"), REFUSED.values(), ids=REFUSED.keys())
def test_text_that_cannot_be_trusted_is_refused(body: bytes, offset: int | None) -> None:
    with pytest.raises(MalformedJson) as caught:
        parse(body)
    assert caught.value.offset == offset
    assert caught.value.reason.endswith(".")


@pytest.mark.parametrize(
    ("body", "place"),
    [
        (b'{"rings": [{"cones": 1}, {"cones": NaN}]}', ("rings", 1, "cones")),
        (b'{"rings": [{"cones": 1, "cones": 2}]}', ("rings", 0)),
        (b'{"bearing": {"speed_rpm": 1e999}}', ("bearing", "speed_rpm")),
        (rb'{"on_hand": [{"name": "\ud800"}]}', ("on_hand", 0, "name")),
        (rb'{"on_hand": [{"\ud800": 1}]}', ("on_hand", 0)),
        (b'{"<b>": {"cones": NaN}}', ()),
        (b'{"a": NaN, "a": 1}', ()),
    ],
)
def test_what_cannot_be_used_is_told_with_its_place(body: bytes, place: tuple) -> None:
    with pytest.raises(MalformedJson) as caught:
        parse(body)
    assert caught.value.place == place


@pytest.mark.parametrize(
    ("body", "value"),
    [
        (b"{}", {}),
        (b' {"a": [1, -2.5, 1e3, true, null]} ', {"a": [1, -2.5, 1000.0, True, None]}),
        ('"°C"'.encode(), "°C"),
        (rb'"\ud83d\ude00"', "\U0001f600"),
        (b'{"a": {"a": 1}, "b": {"a": 2}}', {"a": {"a": 1}, "b": {"a": 2}}),
    ],
)
def test_plain_json_is_read(body: bytes, value: object) -> None:
    assert parse(body) == value


def test_the_reason_repeats_no_text_that_is_not_a_plain_name() -> None:
    with pytest.raises(MalformedJson) as caught:
        parse(b'{"<b>": 1, "<b>": 2}')
    assert "<b>" not in caught.value.reason


def test_a_flaw_behind_many_parts_deep_down_is_found() -> None:
    with pytest.raises(MalformedJson) as caught:
        parse(b"[" * 900 + b"0," * 100_000 + rb'"\ud800"' + b"]" * 900)
    assert caught.value.place == (0,) * 899 + (100_000,)


def test_many_names_are_read_in_a_moment() -> None:
    names = ",".join(f'"n{number}": 1' for number in range(100_000))
    with pytest.raises(MalformedJson, match="twice"):
        parse(f'{{{names}, "n99999": 2}}'.encode())
