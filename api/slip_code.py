"""The number of a slip: its question, the day and the start of its answer id, short enough to be typed from paper.

The number holds the question itself, so that nothing has to be kept to answer it again. It is the address of the
question, packed with a dictionary of its own words, in letters and digits that are not mistaken for each other.
"""

import base64
import binascii
import zlib
from collections.abc import Mapping
from datetime import date, timedelta
from urllib.parse import parse_qsl, urlencode

FIRST_DAY = date(2025, 1, 1)
ID_BYTES, DAY_BYTES, GROUP = 3, 2, 4
LONGEST = 6_000
# Numbers on paper are read with it for as long as that paper lasts: never changed.
WORDS = (
    b"service_note=service_family=gl-5-limited-slipengine-oilmt-1gl-3gl-1atf&service_grade=80W-90&service_grade=75W-80"
    b"&service_family=gl-4&service_grade=75W-90&service_family=mtf&use_shelf=truebox_ref=&body=sintered-iron&body=bronze"
    b"&body=steel&cones=3&cones=1&cones=2&condition=new&condition=worn&yellow_metal=false&yellow_metal=true"
    b"&final_drive=hypoid&final_drive=helical&limited_slip=true&wet_clutch=true&final_drive=none&limited_slip=false"
    b"&wet_clutch=false&coldest_start_c=0&coldest_start_c=-20&sump_hot_c=90&sump_hot_c=110&duty=competition&duty=highway"
    b"&duty=towing&duty=streetfacing=nonefacing=molybdenumfacing=carbonfacing=sinteredfacing=paperfacing=bronze"
)


class NoSlipNumber(ValueError):
    """What was typed is no number of a slip."""


def number_of(values: Mapping[str, str], answer_id: str, given: date) -> str:
    """The number of a slip, in groups of four."""
    packer = zlib.compressobj(level=9, wbits=-15, zdict=WORDS)
    packed = packer.compress(urlencode(values).encode()) + packer.flush()
    days = min(max((given - FIRST_DAY).days, 0), 256**DAY_BYTES - 1).to_bytes(DAY_BYTES, "big")
    held = bytes.fromhex(answer_id)[:ID_BYTES] + days + packed
    text = base64.b32encode(held + _check(held)).decode().rstrip("=")
    return " ".join(text[at : at + GROUP] for at in range(0, len(text), GROUP))


def read_number(typed: str) -> tuple[dict[str, str], str, date]:
    """The question of a slip, how its answer id began, and its day.

    Errors: NoSlipNumber, when a sign is missing or wrong.
    """
    text = "".join(typed.split()).replace("-", "").upper().replace("0", "O").replace("1", "I").replace("8", "B")
    try:
        held = base64.b32decode(text + "=" * (-len(text) % 8))
        held, check = held[:-1], held[-1:]
        start = ID_BYTES + DAY_BYTES
        if check != _check(held) or len(held) < start:
            raise NoSlipNumber
        unpacker = zlib.decompressobj(wbits=-15, zdict=WORDS)
        query = unpacker.decompress(held[start:], LONGEST).decode()
        if unpacker.unconsumed_tail:
            raise NoSlipNumber
        day = FIRST_DAY + timedelta(days=int.from_bytes(held[ID_BYTES:start], "big"))
    except (binascii.Error, zlib.error, UnicodeError, ValueError) as error:
        raise NoSlipNumber from error
    return dict(parse_qsl(query)), held[:ID_BYTES].hex(), day


def _check(held: bytes) -> bytes:
    """One byte that tells a mistyped number."""
    return (zlib.crc32(held) & 0xFF).to_bytes(1, "big")
