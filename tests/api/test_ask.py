"""`python -m api ask FILE.json`: an answer in the terminal."""

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from api.__main__ import main
from api.ask import CannotAsk, answered
from api.settings import DEMO

BOX = {"rings": [{"facing": "bronze"}]}
DEMOS = {path.stem: json.loads(path.read_bytes()) for path in sorted((DEMO / "questions").glob("*.json"))}


def ask(*arguments: str, sent: bytes = b"") -> subprocess.CompletedProcess:
    """Run the command in a process of its own."""
    command = [sys.executable, "-m", "api", "ask", *arguments]
    done = subprocess.run(command, input=sent, capture_output=True, timeout=60, env={"PYTHONUTF8": "1"}, check=False)
    assert b"Traceback" not in done.stderr
    return done


def test_the_answer_can_be_read_in_a_terminal(base, demo_shop, tmp_path: Path) -> None:
    path = tmp_path / "box.json"
    path.write_text(json.dumps(BOX), encoding="utf-8")
    done = ask(str(path))
    text = done.stdout.decode()
    assert (done.returncode, done.stderr) == (0, b"")
    assert text == answered(path.read_bytes(), base, demo_shop) + "\n"
    labels = ("Say", "The book", "Most likely", "Ask next", "Take care")
    assert [label for label in labels if not re.search(f"^{label}", text, re.MULTILINE)] == []


def test_the_answer_to_what_is_piped_can_be_had_as_the_api_sends_it(client) -> None:
    done = ask("--json", "-", sent=json.dumps(BOX).encode())
    assert json.loads(done.stdout) == client.post("/v1/fill", json=BOX).json()


@pytest.mark.parametrize("demo", DEMOS.values(), ids=DEMOS)
def test_each_demo_question_has_an_answer_that_fits_the_terminal_and_more_of_it(base, demo_shop, demo: dict) -> None:
    sent = json.dumps(demo).encode()
    text, more = (answered(sent, base, demo_shop, more=more) for more in (False, True))
    assert len(text.splitlines()) <= 25
    assert max(map(len, (*text.splitlines(), *more.splitlines()))) <= 88
    assert "The manufacturer's service data decides." in text
    assert "More: --more." in text
    assert len(more.splitlines()) >= len(text.splitlines()) - 1


@pytest.mark.parametrize("demo", [*DEMOS.values(), {"ask": "fill", "question": BOX}], ids=[*DEMOS, "box"])
def test_a_question_may_be_wrapped_or_bare_and_its_shape_says_which_it_is(base, demo_shop, demo: dict) -> None:
    question = demo["question"]
    forms = (demo, {"title": "A box", "question": question}, question, {"ask": demo["ask"], **question})
    assert len({answered(json.dumps(form).encode(), base, demo_shop, as_json=True) for form in forms}) == 1


WHICH = 'Say which it is with "ask": fill, jug, drain, symptom or shift.'


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b'{"limited_slip": true}', f"fit fill and jug alike. {WHICH}"),
        (b'{"question": {"limited_slip": true}}', f"fit fill and jug alike. {WHICH}"),
        (b'{"colour": "red"}', f"fit no kind of question. {WHICH}"),
        (b'{"rings": [', "stops being JSON at line 1, column 11"),
        (b"[]", "JSON object"),
        (b"\xff\xfe", "UTF-8"),
        (b'{"ask": "drian"}', "/ask: Must be one of: fill"),
        (b'{"ask": ["fill"]}', "/ask: Must be one of: fill"),
        (b'{"ask": "fill", "question": 3}', "the question: Must be a JSON object; {} is a question too."),
        (b'{"yelow_metal": true}', "/yelow_metal: There is no such field. Did you mean yellow_metal?"),
        (b'{"rings": [{"cones": "two"}]}', "/rings/0/cones: Must be a whole number"),
        (
            b'{"ask": "drain", "question": {"box_ref": "bench-bronze-5"}, "drained_l": 5}',
            "/drained_l: Must not be above the 2.1 litres",
        ),
        (b'{"rings": [{"facing": "papr"}]}', "/rings/0/facing: This id is not known. Did you mean paper?"),
    ],
)
def test_a_question_that_cannot_be_used_is_told_by_its_field(base, demo_shop, content: bytes, told: str) -> None:
    with pytest.raises(CannotAsk, match=re.escape(told)):
        answered(content, base, demo_shop)


def test_a_box_of_the_shop_is_found_however_its_id_is_written(base, demo_shop) -> None:
    written, meant = (
        b'{"ask": "fill", "question": {"box_ref": "%s"}}' % id for id in (b"BENCH_paper 5", b"bench-paper-5")
    )
    assert answered(written, base, demo_shop) == answered(meant, base, demo_shop)


def test_what_cannot_be_asked_ends_with_2_and_says_why(tmp_path: Path, capsys) -> None:
    unknown = ask("-", sent=b'{"duty": "stret"}')
    assert (unknown.returncode, unknown.stdout) == (2, b"")
    assert b"/duty: This id is not known." in unknown.stderr
    for given, told in (
        (tmp_path / "none.json", "none.json: cannot be read: No such file or directory"),
        (tmp_path, "cannot be read"),
    ):
        assert main(["ask", str(given)]) == 2
        printed = capsys.readouterr()
        assert printed.out == ""
        assert told in printed.err
