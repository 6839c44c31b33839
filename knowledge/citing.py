"""What every answer carries beside its own matter: its id, the sources it cites, the words of the trade it uses."""

import hashlib
from collections.abc import Iterable, Iterator
from typing import Protocol

from pydantic import BaseModel

from knowledge.base import KnowledgeBase
from knowledge.loading.schema import WordRow
from knowledge.parts.provenance import Citation, Source


def answer_id(kind: str, asked: BaseModel, *parts: str) -> str:
    """An id that is the same for the same question of a kind to the same knowledge."""
    text = "\n".join((kind, asked.model_dump_json(exclude_defaults=True), *parts))
    return hashlib.sha256(text.encode()).hexdigest()[:16]


class Citing(Protocol):
    """A part of an answer that cites sources."""

    @property
    def sources(self) -> tuple[Citation, ...]: ...


def sources_of(citing: Iterable[Citing], base: KnowledgeBase, *others: str) -> tuple[Source, ...]:
    """Every source that parts of an answer cite, and some others, in the order of the table."""
    used = {*others, *(citation.id for item in citing for citation in item.sources)}
    return tuple(row for row in base.sources.values() if row.id in used)


def words_used(texts: Iterable[str], base: KnowledgeBase) -> Iterator[WordRow]:
    """The words of the trade that occur in some texts, in the order of the table."""
    text = "\n".join(texts).lower()
    return (row for row in base.words.values() if any(word.lower() in text for word in row.used))
