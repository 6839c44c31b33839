"""The edition of the tables: its version, and the entry in CHANGES.md on the answers that it changes."""

import re
from collections.abc import Iterator

from pydantic import Field

from knowledge.errors import Fault
from knowledge.parts.provenance import ResponseModel

VERSION_FILE = "VERSION"
CHANGES_FILE = "CHANGES.md"
CALENDAR_VERSION = re.compile(r"\d{4}\.(1[0-2]|[1-9])\.\d+")
STAMP = "Tables: "
NEWEST_ENTRY = re.compile(r"^## (?P<version>\S+)\n\n(Tables: (?P<digest>sha256:[0-9a-f]{64})\n\n)?", re.MULTILINE)
ENTRY = re.compile(r"^## ", re.MULTILINE)
PARAGRAPH = re.compile(r"\n\n|\n(?=- )")


class Change(ResponseModel):
    """One edition of the tables, and which answers it changes."""

    id: str = Field(description="The version of the tables.")
    digest: str | None = Field(description="Fingerprint of the tables as they went out; null before they were stamped.")
    says: tuple[str, ...] = Field(description="Paragraphs and points, as Markdown.")


def changes_of(text: str) -> tuple[Change, ...]:
    """The editions that CHANGES.md tells of, the newest first."""
    return tuple(map(_change, ENTRY.split(text)[1:]))


def _change(entry: str) -> Change:
    version, _, body = entry.partition("\n")
    says = [words for part in PARAGRAPH.split(body) if (words := " ".join(part.split()).removeprefix("- "))]
    stamped_as = says.pop(0).removeprefix(STAMP) if says and says[0].startswith(STAMP) else None
    return Change(id=version.strip(), digest=stamped_as, says=tuple(says))


def version_faults(version: str) -> Iterator[Fault]:
    """What is wrong with the version by itself."""
    if not CALENDAR_VERSION.fullmatch(version):
        yield Fault(VERSION_FILE, 1, 1, "must be year, month and number, such as 2026.11.0")


def changes_faults(changes: str, version: str, digest: str) -> Iterator[Fault]:
    """Whether the newest entry is of this version, and was stamped for the tables of this digest."""
    entry = NEWEST_ENTRY.search(changes)
    line = changes.count("\n", 0, entry.start()) + 1 if entry else 1
    if entry is None or entry["version"] != version:
        yield Fault(CHANGES_FILE, line, 1, f"the first entry must be '## {version}' and say which answers change")
    elif entry["digest"] != digest:
        message = "the tables changed since this entry was stamped: say which answers change, raise VERSION if this one"
        yield Fault(CHANGES_FILE, line, 1, f"{message} is out already, then run `python -m knowledge stamp`")


def stamped(changes: str, digest: str) -> str:
    """The changes with their newest entry stamped for the tables of a digest."""
    return NEWEST_ENTRY.sub(lambda entry: f"## {entry['version']}\n\nTables: {digest}\n\n", changes, count=1)
