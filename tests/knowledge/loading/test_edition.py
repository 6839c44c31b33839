"""The edition of the tables: a version that is one, and an entry in CHANGES.md written for these very tables."""

import subprocess
import sys
from pathlib import Path

import pytest

from knowledge.assemble import check_changes, read_knowledge, stamp_changes
from knowledge.base import KnowledgeBase
from knowledge.errors import FaultyTables
from knowledge.loading.files import TABLES


def edit(path: Path, old: str, new: str) -> None:
    """Replace a passage of a file."""
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def run(action: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """`python -m knowledge` on a folder of tables."""
    command = [sys.executable, "-m", "knowledge", action, "--tables", str(folder)]
    return subprocess.run(command, cwd=TABLES.parents[1], capture_output=True, text=True, check=False)


def test_the_newest_entry_of_the_changes_is_of_these_tables(base: KnowledgeBase) -> None:
    """Say there which answers change, raise VERSION if that entry is out already, then `python -m knowledge stamp`."""
    check_changes(base)


@pytest.mark.parametrize("version", ["", "1.2.3", "2026.13.0", "2026.11", "next"])
def test_a_version_that_is_no_calendar_version_keeps_the_tables_from_being_used(tables, version: str) -> None:
    (tables / "VERSION").write_text(f"{version}\n", encoding="utf-8")
    with pytest.raises(FaultyTables) as error:
        read_knowledge(tables)
    assert [(fault.file, fault.line) for fault in error.value.faults] == [("VERSION", 1)]


def test_tables_that_changed_without_a_word_are_told_by_the_check_but_can_be_served(tables) -> None:
    edit(tables / "thresholds.csv", "hot-sump-caution-from,110", "hot-sump-caution-from,112")
    assert read_knowledge(tables).limit("hot-sump-caution-from") == 112
    told = run("check", tables)
    assert told.returncode == 1
    assert told.stderr.startswith("CHANGES.md:3:1: the tables changed")
    assert told.stderr.endswith("\n1 fault\n")


def test_a_stamp_settles_it(tables) -> None:
    edit(tables / "thresholds.csv", "hot-sump-caution-from,110", "hot-sump-caution-from,112")
    before = (tables / "CHANGES.md").read_text(encoding="utf-8")
    assert run("stamp", tables).returncode == 0
    assert run("check", tables).returncode == 0
    after = (tables / "CHANGES.md").read_text(encoding="utf-8")
    changed = [(old, new) for old, new in zip(before.splitlines(), after.splitlines(), strict=True) if old != new]
    assert [new for _, new in changed] == [f"Tables: {read_knowledge(tables).digest}"]


def test_a_new_version_wants_an_entry_before_it_can_be_stamped(tables) -> None:
    (tables / "VERSION").write_text("2030.1.0\n", encoding="utf-8")
    base = read_knowledge(tables)
    with pytest.raises(FaultyTables, match=r"first entry must be '## 2030.1.0'"):
        stamp_changes(base, tables)
    edit(tables / "CHANGES.md", "# Which answers change\n", "# Which answers change\n\n## 2030.1.0\n\nSome.\n")
    stamp_changes(base, tables)
    check_changes(base, tables)
    assert f"## 2030.1.0\n\nTables: {base.digest}\n\nSome.\n" in (tables / "CHANGES.md").read_text(encoding="utf-8")
