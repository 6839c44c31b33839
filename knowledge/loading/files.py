"""Table files as they stand on disk: the only module that opens one."""

import hashlib
import os
import stat
from pathlib import Path
from typing import NamedTuple

from knowledge.errors import Fault
from knowledge.loading.edition import VERSION_FILE
from knowledge.loading.sheets import UnreadableSheet, decoded

TABLES = Path(__file__).parent.parent / "tables"
MOST_BYTES = 4_000_000


class TableFile(NamedTuple):
    """A file as it stood when it was looked at; two looks are equal when nothing was written between them."""

    name: str
    content: bytes | None
    modified_ns: int = 0
    inode: int = 0
    fault: str = ""


def digest_of(folder: Path) -> str:
    sums = hashlib.sha256()
    for path in sorted(folder.iterdir()):
        if path.suffix in (".csv", ".toml") or path.name == VERSION_FILE:
            sums.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
    return f"sha256:{sums.hexdigest()}"


def look_at(path: Path) -> TableFile:
    try:
        # A pipe would be waited for until somebody writes to it.
        with open(path, "rb", opener=lambda name, flags: os.open(name, flags | getattr(os, "O_NONBLOCK", 0))) as file:
            status = os.fstat(file.fileno())
            if not stat.S_ISREG(status.st_mode):
                return TableFile(path.name, None, fault="cannot be read: it is no regular file")
            content = file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        return TableFile(path.name, None, fault="this table is missing")
    except OSError as error:
        return TableFile(path.name, None, fault=f"cannot be read: {error.strerror}")
    if len(content) > MOST_BYTES:
        return TableFile(path.name, None, fault=f"is larger than {MOST_BYTES} bytes")
    return TableFile(path.name, content, status.st_mtime_ns, status.st_ino)


def text_of(file: TableFile, faults: list[Fault], *, as_saved: bool = False) -> str | None:
    """The text of a file that must be UTF-8, or in any encoding that spreadsheets save."""
    if file.content is None:
        faults.append(Fault(file.name, 1, 1, file.fault))
        return None
    try:
        if as_saved:
            return decoded(file.content)
        # A byte order mark is how some spreadsheets begin UTF-8.
        return file.content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = file.content[: error.start]
        faults.append(Fault(file.name, before.count(b"\n") + 1, 1, "is not UTF-8 text; save the table as UTF-8"))
    except UnreadableSheet as error:
        faults.append(Fault(file.name, 1, 1, str(error)))
    return None


def rewrite(path: Path, text: str) -> None:
    """Write a text file anew."""
    path.write_text(text, encoding="utf-8")
