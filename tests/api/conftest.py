"""A page as it is read."""

import re
from collections.abc import Callable
from html.parser import HTMLParser

import httpx
import pytest

VOID = {"meta", "link", "input", "img", "br", "hr", "line", "rect", "path", "polygon", "polyline"}


class Reader(HTMLParser):
    """The words of a page, and the tags that were left open."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.words: list[str] = []
        self.open: list[str] = []
        self.ids: list[str] = []
        self.attributes: set[str] = set()
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.attributes |= {name for name, _ in attrs}
        self.ids += [value for name, value in attrs if name == "id"]
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.attributes |= {name for name, _ in attrs}

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    @property
    def text(self) -> str:
        """The words as they are read, however they were set."""
        return re.sub(r"\s+", " ", "".join(self.words)).replace("\N{MINUS SIGN}", "-")


def _read(response: httpx.Response) -> Reader:
    """A page that is HTML, closed what it opened, and holds no script or style of its own."""
    assert response.headers["content-type"] == "text/html; charset=utf-8"
    reader = Reader(response.text)
    assert reader.open == []
    assert len(reader.ids) == len(set(reader.ids))
    assert not {name for name in reader.attributes if name == "style" or name.startswith("on")}
    assert not re.search(r"<style|<script(?![^>]* src=\"counter\.js\")", response.text)
    return reader


@pytest.fixture(scope="session")
def read() -> Callable[[httpx.Response], Reader]:
    """Reads a page."""
    return _read


@pytest.fixture(scope="session")
def plain() -> Callable[[str], str]:
    """Text with single spaces, as `Reader.text` gives it."""
    return lambda text: re.sub(r"\s+", " ", text)
