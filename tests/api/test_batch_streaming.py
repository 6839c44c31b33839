"""A batch in lines over a real socket: streamed both ways, at constant memory, beside other requests."""

import json
import re
import socket
import threading
import time
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager
from http.client import HTTPResponse
from itertools import cycle, islice
from pathlib import Path
from urllib.parse import urlsplit

import httpx
import pytest

HEAD = b"POST /v1/fill/batch HTTP/1.1\r\nHost: here\r\nContent-Type: %b\r\nTransfer-Encoding: chunked\r\n\r\n"
REFUSED = b'{"no": 1}\n'
STATED = (
    b'{"rings":[{"facing":"bronze","body":"bronze","cones":1,"condition":"new"}],"yellow_metal":true,"duty":"street",'
    b'"final_drive":"none","limited_slip":false,"wet_clutch":false,"coldest_start_c":-15,"sump_hot_c":85}\n'
)
# Some of the most work that few bytes can ask for.
NOTHING_STATED = b"{}\n"


class Conversation:
    """One batch, sent and read piece by piece as a test wants it."""

    def __init__(self, connection: socket.socket, content_type: bytes) -> None:
        self.connection = connection
        self.response = HTTPResponse(connection, method="POST")
        connection.sendall(HEAD % content_type)

    def say(self, piece: bytes) -> None:
        """Send a piece of the body."""
        self.connection.sendall(b"%x\r\n%b\r\n" % (len(piece), piece))

    def end(self) -> None:
        """Say that the body is complete."""
        self.connection.sendall(b"0\r\n\r\n")

    def hear(self) -> dict:
        """The next result."""
        return json.loads(self.line())

    def line(self) -> bytes:
        """The next line of the answer; empty after the last."""
        if self.response.headers is None:
            self.response.begin()
        return self.response.readline()


@contextmanager
def conversation(address: str, content_type: bytes = b"application/x-ndjson") -> Iterator[Conversation]:
    """A batch that has just begun; the connection is closed behind it."""
    where = urlsplit(address)
    with socket.create_connection((where.hostname, where.port), timeout=20) as connection:
        begun = Conversation(connection, content_type)
        with closing(begun.response):
            yield begun


def cpu_s(pid: int) -> float:
    """Seconds of CPU that a process has used."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / 100


def cpu_s_when_idle(pid: int) -> float:
    """Seconds of CPU that a process has used when it has come to rest; not waited for beyond ten seconds."""
    after = cpu_s(pid)
    for _ in range(20):
        used = after
        time.sleep(0.5)
        after = cpu_s(pid)
        if after - used <= 0.1:
            break
    return after


def peak_kb(pid: int) -> int:
    """The most memory that a process ever held."""
    return int(re.search(r"VmHWM:\s+(\d+)", Path(f"/proc/{pid}/status").read_text())[1])


def test_results_come_before_the_last_question_is_sent(live_server: str) -> None:
    with conversation(live_server) as batch:
        for index in range(3):
            batch.say(STATED)
            told = batch.hear()
            assert (told["index"], told["status"]) == (index, 200)
        batch.say(REFUSED[:4])
        batch.say(REFUSED[4:] + REFUSED)
        assert [batch.hear()["index"] for _ in range(2)] == [3, 4]
        batch.end()
        assert batch.line() == b""


def test_one_bad_line_leaves_the_lines_around_it_alone(live_server: str) -> None:
    with conversation(live_server) as batch:
        batch.say(STATED + b'{"rings": ]\n' + STATED)
        batch.end()
        assert [batch.hear()["status"] for _ in range(3)] == [200, 400, 200]


def test_a_line_is_answered_even_when_nothing_ends_it(live_server: str) -> None:
    with conversation(live_server) as batch:
        batch.say(STATED.strip())
        batch.end()
        assert batch.hear()["status"] == 200


def test_others_are_answered_while_a_batch_runs(live_server: str) -> None:
    heard = []
    with conversation(live_server) as batch:
        batch.say(NOTHING_STATED * 40)
        batch.end()
        heard.append(batch.hear()["index"])
        reading = threading.Thread(target=lambda: heard.extend(batch.hear()["index"] for _ in range(39)))
        reading.start()
        assert httpx.get(f"{live_server}/healthz").status_code == 200
        assert httpx.post(f"{live_server}/v1/fill", json={}).status_code == 200
        assert len(heard) < 40
        reading.join()
    assert heard == list(range(40))


@pytest.mark.parametrize(
    ("content_type", "body"),
    [
        (b"application/x-ndjson", NOTHING_STATED * 400),
        (b"application/json", b'{"questions": [%b{}]}' % (b"{}," * 399)),
    ],
)
def test_a_caller_who_goes_away_stops_the_work(live_server, content_type: bytes, body: bytes) -> None:
    with conversation(live_server, content_type) as batch:
        batch.say(body)
        batch.end()
        batch.response.begin()
        assert b'"index":0' in batch.response.read(1000)
        before = cpu_s(live_server.pid)
    # Almost 400 questions are left, and each would take some hundredths of a second.
    assert cpu_s_when_idle(live_server.pid) - before < 1


def test_a_caller_who_takes_no_results_is_read_no_further_and_may_go_as_well(live_server) -> None:
    with conversation(live_server) as batch:
        batch.connection.settimeout(2)
        piece = NOTHING_STATED * 20_000
        with pytest.raises(TimeoutError):
            for _ in range(1000):
                batch.say(piece)
        before = cpu_s(live_server.pid)
    assert cpu_s_when_idle(live_server.pid) - before < 1


def test_peak_memory_does_not_grow_with_the_number_of_lines(serve) -> None:
    with serve() as address:
        peaks = []
        for count in (300, 3000):
            # One line in twenty gets an answer, of several hundred kilobytes.
            lines = islice(cycle([STATED] + [REFUSED] * 19), count)
            with conversation(address) as batch:
                threading.Thread(target=say_all, args=(batch, lines)).start()
                assert [batch.hear()["index"] for _ in range(count)] == list(range(count))
            peaks.append(peak_kb(address.pid))
        assert peaks[1] - peaks[0] < 8_000


def say_all(batch: Conversation, lines: Iterable[bytes]) -> None:
    """Send these lines one by one."""
    for line in lines:
        batch.say(line)
    batch.end()
