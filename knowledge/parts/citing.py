"""What every answer carries beside its own matter: its id, its cautions, its sources."""

import hashlib
from collections.abc import Iterable

from pydantic import BaseModel

from knowledge.base import KnowledgeBase
from knowledge.parts.provenance import Caution, Finding, Source


def answer_id(kind: str, asked: BaseModel, *parts: str) -> str:
    """An id that is the same for the same question of a kind to the same knowledge."""
    said = "\n".join((kind, asked.model_dump_json(exclude_defaults=True), *parts))
    return hashlib.sha256(said.encode()).hexdigest()[:16]


def sources_of(speaking: Iterable[Finding | Caution], base: KnowledgeBase, *others: str) -> tuple[Source, ...]:
    """Every source that findings and cautions cite, and some others, in the order of the table."""
    used = {*others, *(citation.id for item in speaking for citation in item.sources)}
    return tuple(row for row in base.sources.values() if row.id in used)
