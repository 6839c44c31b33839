"""The number of a slip: its question, the day and the start of its answer id, short enough to be read over the phone.

The number holds the question itself, so that nothing has to be kept to answer it again. It is one whole number: each
field takes the less room in it the more often it is said so (an asymmetric numeral system, Duda 2009, on a number of
any length), written in digits and letters that are not mistaken for each other, behind a 9 that no older number has.
"""

import base64
import binascii
import tomllib
import zlib
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from pathlib import Path
from typing import Any, NamedTuple
from urllib.parse import parse_qsl

FIRST_DAY = date(2025, 1, 1)
ID_BYTES, GROUP = 2, 4
LONGEST = 6_000
IDS, DAYS, CHECKS, POINTS = 256**ID_BYTES, 2**13, 2**9, 2**21
MARK, SIGNS = "9", "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
TAKEN_FOR = str.maketrans("OIL", "011", " -\t\n\r")
# Letters of what is written out: the end is as wide as ENDS of them, and one more place announces any other letter.
LETTERS, ENDS = "abcdefghijklmnopqrstuvwxyz0123456789-/ .,ABCDEFGHIJKLMNOPQRSTUVWXYZ", 3


class Words(NamedTuple):
    """How a field is told: `blank` parts of `of` are for nothing, one for each word, the last for what is written."""

    of: int
    blank: int
    words: tuple[str, ...]


def _words(of: int, blank: int, words: list[str] | None = None, **numbers: int) -> Words:
    found = words if words is not None else map(str, range(numbers["from"], numbers["to"] + 1))
    return Words(of, blank, tuple(found))


TABLE: dict[str, Any] = tomllib.loads((Path(__file__).resolve().parent / "slip_words.toml").read_text())
FIELDS = {name: _words(**given) for name, given in TABLE.items()}


class NoSlipNumber(ValueError):
    """What was typed is no number of a slip."""


class Held:
    """A whole number that holds places, what was put last on top; place 0 is `wide` times as likely as another."""

    def __init__(self, number: int) -> None:
        self.number = number

    def put(self, place: int, of: int, wide: int = 1) -> None:
        """Put a place among `of`; the places from 1 on are counted from `wide`."""
        if place:
            self.number = self.number * of + place
        else:
            self.number = self.number // wide * of + self.number % wide

    def take(self, of: int, wide: int = 1) -> int:
        """The place that was put last."""
        place = self.number % of
        self.number = self.number // of * (wide if place < wide else 1) + (place if place < wide else 0)
        return 0 if place < wide else place


def number_of(values: Mapping[str, str], answer_id: str, given: date) -> str:
    """The number of a slip, in groups of four."""
    days = min(max((given - FIRST_DAY).days, 0), DAYS - 1)
    places = [(int(answer_id[: 2 * ID_BYTES], 16), IDS, 1), (days, DAYS, 1)]
    for name, field in FIELDS.items():
        places += _places(values.get(name, ""), field)
    held = Held(0)
    for place in reversed(places):
        held.put(*place)
    held.put(_check(held.number), CHECKS)
    text = MARK + _signs(held.number)
    return " ".join(text[at : at + GROUP] for at in range(0, len(text), GROUP))


def read_number(typed: str) -> tuple[dict[str, str], str, date]:
    """The question of a slip, how its answer id began, and its day.

    Errors: NoSlipNumber, when a sign is missing or wrong.
    """
    text = typed.upper().translate(TAKEN_FOR)
    if not text.startswith(MARK):
        return _read_older(typed)
    try:
        if len(text) > LONGEST:
            raise NoSlipNumber
        number = 0
        for sign in text.removeprefix(MARK):
            number = number * len(SIGNS) + SIGNS.index(sign)
        held = Held(number)
        check = held.take(CHECKS)
        if check != _check(held.number):
            raise NoSlipNumber
        id, days = held.take(IDS), held.take(DAYS)
        values = {name: value for name, field in FIELDS.items() if (value := _taken(held, field))}
        "".join(values.values()).encode()
    except ValueError as error:
        raise NoSlipNumber from error
    return values, f"{id:0{2 * ID_BYTES}x}", FIRST_DAY + timedelta(days)


def _places(value: str, field: Words) -> Iterator[tuple[int, int, int]]:
    """The places of a value: of its word, or of its letters behind the last place of the field."""
    if not value:
        yield 0, field.of, field.blank
    elif value in field.words:
        yield field.blank + field.words.index(value), field.of, field.blank
    else:
        yield field.of - 1, field.of, field.blank
        last = ENDS + len(LETTERS)
        for letter in value:
            known = LETTERS.find(letter)
            yield (ENDS + known if known >= 0 else last), last + 1, ENDS
            if known < 0:
                yield ord(letter), POINTS, 1
        yield 0, last + 1, ENDS


def _taken(held: Held, field: Words) -> str:
    place = held.take(field.of, field.blank)
    if place != field.of - 1:
        return field.words[place - field.blank] if place else ""
    last, written = ENDS + len(LETTERS), ""
    while letter := held.take(last + 1, ENDS):
        written += chr(held.take(POINTS)) if letter == last else LETTERS[letter - ENDS]
    return written


def _signs(number: int) -> str:
    text = ""
    while number:
        number, place = divmod(number, len(SIGNS))
        text = SIGNS[place] + text
    return text


def _check(number: int) -> int:
    """What tells a mistyped number."""
    return zlib.crc32(f"{number:x}".encode()) % CHECKS


# Numbers of the editions until 2026.12.2: the address packed by deflate with a dictionary of its own words.

OLD_ID_BYTES, OLD_DAY_BYTES = 3, 2
WORDS = (
    b"service_note=service_family=gl-5-limited-slipengine-oilmt-1gl-3gl-1atf&service_grade=80W-90&service_grade=75W-80"
    b"&service_family=gl-4&service_grade=75W-90&service_family=mtf&use_shelf=truebox_ref=&body=sintered-iron&body=bronze"
    b"&body=steel&cones=3&cones=1&cones=2&condition=new&condition=worn&yellow_metal=false&yellow_metal=true"
    b"&final_drive=hypoid&final_drive=helical&limited_slip=true&wet_clutch=true&final_drive=none&limited_slip=false"
    b"&wet_clutch=false&coldest_start_c=0&coldest_start_c=-20&sump_hot_c=90&sump_hot_c=110&duty=competition&duty=highway"
    b"&duty=towing&duty=streetfacing=nonefacing=molybdenumfacing=carbonfacing=sinteredfacing=paperfacing=bronze"
)


def _read_older(typed: str) -> tuple[dict[str, str], str, date]:
    text = "".join(typed.split()).replace("-", "").upper().replace("0", "O").replace("1", "I").replace("8", "B")
    try:
        held = base64.b32decode(text + "=" * (-len(text) % 8))
        held, check = held[:-1], held[-1:]
        start = OLD_ID_BYTES + OLD_DAY_BYTES
        if check != (zlib.crc32(held) & 0xFF).to_bytes(1, "big") or len(held) < start:
            raise NoSlipNumber
        unpacker = zlib.decompressobj(wbits=-15, zdict=WORDS)
        query = unpacker.decompress(held[start:], LONGEST).decode()
        if unpacker.unconsumed_tail:
            raise NoSlipNumber
        day = FIRST_DAY + timedelta(days=int.from_bytes(held[OLD_ID_BYTES:start], "big"))
    except (binascii.Error, zlib.error, UnicodeError, ValueError) as error:
        raise NoSlipNumber from error
    return dict(parse_qsl(query)), held[:OLD_ID_BYTES].hex(), day
