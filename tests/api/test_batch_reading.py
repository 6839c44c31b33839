"""Lines and lists of questions, cut out of the bytes of a batch."""

import asyncio
import json
from collections.abc import AsyncIterator, Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.batch_reading import entries, lines
from api.strict_json import MalformedJson, parse

ODD = st.text(alphabet='"\\[]{},: ü\n', max_size=8)
VALUES = st.recursive(
    st.none() | st.booleans() | st.integers(-5, 5) | ODD,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(ODD, inner, max_size=3),
    max_leaves=12,
)


def read_lines(pieces: Sequence[bytes], longest: int) -> list[bytes]:
    """Every line of a text that comes in these pieces."""

    async def flow() -> AsyncIterator[bytes]:
        for piece in pieces:
            yield piece

    async def read() -> list[bytes]:
        return [line async for line in lines(flow(), longest)]

    return asyncio.run(read())


@given(st.lists(st.text(alphabet="ab\n", max_size=12).map(str.encode), max_size=8), st.integers(1, 6))
def test_lines_are_the_same_wherever_the_pieces_are_cut(pieces: list[bytes], longest: int) -> None:
    *ended, last = b"".join(pieces).split(b"\n")
    whole = [*ended, last] if last else ended
    assert read_lines(pieces, longest) == [line[: longest + 1] for line in whole]


@given(st.lists(VALUES, max_size=6), st.booleans(), st.sampled_from([None, 2]))
def test_the_entries_of_a_list_are_its_values(values: list, ascii_only: bool, indent: int | None) -> None:
    body = json.dumps({"questions": values}, ensure_ascii=ascii_only, indent=indent).encode()
    found = entries(body, most=6)
    assert found is not None
    assert [json.loads(entry) for entry in found] == values


@given(st.binary(max_size=12) | ODD.map(str.encode))
def test_no_batch_is_overlooked(middle: bytes) -> None:
    body = b'{"questions": [' + middle + b"]}"
    try:
        value = parse(body)
    except MalformedJson:
        value = None
    is_batch = isinstance(value, dict) and list(value) == ["questions"] and isinstance(value["questions"], list)
    assert entries(body, most=20) is not None or not is_batch


def test_an_entry_that_is_not_json_leaves_the_others_alone() -> None:
    body = rb'{"questions": [{}, {"a": nope}, NaN, "\ud800", {"a":1,"a":1}, {"b": "]}"}]}'
    assert entries(body, most=20) == [b"{}", b'{"a": nope}', b"NaN", rb'"\ud800"', b'{"a":1,"a":1}', b'{"b": "]}"}']


def test_the_name_may_be_spelled_in_any_way_of_json() -> None:
    assert entries(rb'{"\u0071uestions": [1]}', most=1) == [b"1"]


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"[]",
        b"{}",
        b'{"questions": {}}',
        b'{"question": []}',
        b'{"questions": []',
        b'{"questions": [}',
        b'{"questions": [1,]}',
        b'{"questions": [,]}',
        b'{"questions": ["a]}',
        b'{"questions": []} x',
        b'{"questions": [], "questions": []}',
        b'{"questions": [], "more": 1}',
        b'{"quest\\zions": []}',
    ],
)
def test_anything_else_is_no_batch(body: bytes) -> None:
    assert entries(body, most=20) is None


def test_no_more_than_one_too_many_is_cut() -> None:
    assert len(entries(b'{"questions": [' + b"1," * 100_000 + b"1]}", most=500) or ()) == 501
