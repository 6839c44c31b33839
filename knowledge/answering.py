"""What every answer carries beside its own matter: its id, its cautions, its sources."""

import hashlib
from collections.abc import Collection, Iterable

from pydantic import BaseModel

from knowledge.answers import Caution, Finding, Source
from knowledge.base import KnowledgeBase
from knowledge.box.circumstances import CIRCUMSTANCES
from knowledge.box.worlds import Worlds
from knowledge.verdicts.judging import SEVERITIES_FROM_WORST


def answer_id(kind: str, asked: BaseModel, *parts: str) -> str:
    """An id that is the same for the same question of a kind to the same knowledge."""
    said = "\n".join((kind, asked.model_dump_json(exclude_defaults=True), *parts))
    return hashlib.sha256(said.encode()).hexdigest()[:16]


def circumstances_of(worlds: Worlds) -> frozenset[str]:
    """The circumstances that can occur in some world."""
    return frozenset(
        name
        for name, (reads, holds) in CIRCUMSTANCES.items()
        if any(holds(**facts) for facts, _ in worlds.cells(reads))
    )


def cautions_for(circumstances: Collection[str], base: KnowledgeBase) -> tuple[Caution, ...]:
    """The cautions that go with some circumstances, worst first."""
    rows = [row for row in base.cautions.values() if not set(row.when).isdisjoint(circumstances)]
    return tuple(sorted(rows, key=lambda row: SEVERITIES_FROM_WORST.index(row.severity)))


def sources_of(speaking: Iterable[Finding | Caution], base: KnowledgeBase, *others: str) -> tuple[Source, ...]:
    """Every source that findings and cautions cite, and some others, in the order of the table."""
    used = {*others, *(citation.id for item in speaking for citation in item.sources)}
    return tuple(row for row in base.sources.values() if row.id in used)
