"""`python -m api ask FILE.json`: an answer in the terminal."""

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from api.__main__ import main
from api.settings import DEMO

BOX = {"rings": [{"facing": "paper", "body": "steel"}], "yellow_metal": True, "coldest_start_c": -20}


def ask(*arguments: str, sent: bytes = b"", folder: Path | None = None) -> subprocess.CompletedProcess:
    """Run the command in a process of its own."""
    command = [sys.executable, "-m", "api", "ask", *arguments]
    done = subprocess.run(
        command, input=sent, capture_output=True, cwd=folder, timeout=60, env={"PYTHONUTF8": "1"}, check=False
    )
    assert b"Traceback" not in done.stderr
    return done


@pytest.fixture
def question_file(tmp_path: Path) -> Path:
    """A file with one question."""
    path = tmp_path / "box.json"
    path.write_text(json.dumps(BOX), encoding="utf-8")
    return path


def test_the_answer_can_be_read_in_a_terminal(question_file: Path) -> None:
    done = ask(str(question_file))
    text = done.stdout.decode()
    assert (done.returncode, done.stderr) == (0, b"")
    labels = ("Service data", "First", "After it", "Why not", "Take care", "At every fill", "Ask next")
    assert [label for label in labels if not re.search(f"^{label}", text, re.MULTILINE)] == []
    assert "The manufacturer's service data decides." in text
    assert max(map(len, text.splitlines())) < 100


def test_the_answer_can_be_had_as_the_api_sends_it(question_file: Path, client) -> None:
    done = ask("--json", str(question_file))
    assert json.loads(done.stdout) == client.post("/v1/fill", json=BOX).json()


@pytest.mark.parametrize("demo", sorted((DEMO / "questions").glob("*.json")), ids=lambda path: path.stem)
def test_each_demo_question_has_an_answer_that_fits_the_terminal(
    demo: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["ask", str(demo)]) == 0
    text = capsys.readouterr().out
    assert max(map(len, text.splitlines())) < 100
    assert "The manufacturer's service data decides." in text


@pytest.mark.parametrize(
    "wrapped",
    [
        {"ask": "fill", "question": BOX},
        {"ask": "fill", "question": BOX, "title": "Paper rings", "about": "A box on the bench."},
        {"ask": "fill", **BOX},
    ],
)
def test_a_question_may_be_wrapped_and_piped(wrapped: dict, question_file: Path) -> None:
    piped = ask("-", sent=json.dumps(wrapped).encode())
    assert piped.returncode == 0
    assert piped.stdout == ask(str(question_file)).stdout


@pytest.mark.parametrize("demo", sorted((DEMO / "questions").glob("*.json")), ids=lambda path: path.stem)
def test_the_shape_of_a_question_says_which_it_is(demo: Path, tmp_path: Path, capsys) -> None:
    told = json.loads(demo.read_text(encoding="utf-8"))
    shown = []
    for value in (told, {"title": "A box", "question": told["question"]}, told["question"]):
        (tmp_path / "question.json").write_text(json.dumps(value), encoding="utf-8")
        assert main(["ask", "--json", str(tmp_path / "question.json")]) == 0
        shown.append(capsys.readouterr().out)
    assert shown[0] == shown[1] == shown[2]


@pytest.mark.parametrize(
    ("question", "told"),
    [
        ({"limited_slip": True}, "fit fill and jug alike"),
        ({"question": {"limited_slip": True}}, "fit fill and jug alike"),
        ({"colour": "red"}, "fit no kind of question"),
    ],
)
def test_a_shape_that_does_not_say_which_question_it_is_must_be_told(question: dict, told: str) -> None:
    done = ask("-", sent=json.dumps(question).encode())
    assert (done.returncode, done.stdout) == (2, b"")
    assert f'{told}. Say which it is with "ask": fill, jug, drain, symptom or shift.' in done.stderr.decode()


@pytest.mark.parametrize(
    ("content", "told"),
    [
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
def test_a_question_that_cannot_be_used_is_told_by_its_field(content: bytes, told: str) -> None:
    done = ask("-", sent=content)
    assert (done.returncode, done.stdout) == (2, b"")
    assert told in done.stderr.decode()


def test_a_file_that_is_not_there_is_told(tmp_path: Path) -> None:
    done = ask(str(tmp_path / "none.json"))
    assert done.returncode == 2
    assert b"none.json: cannot be read: No such file or directory" in done.stderr
    assert ask(str(tmp_path)).returncode == 2
