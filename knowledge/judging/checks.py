"""What must hold between the rules about lubricants and the table of their outcomes."""

from collections.abc import Iterator

from knowledge.base import KnowledgeBase
from knowledge.box.cases import Cases
from knowledge.box.question import FillQuestion
from knowledge.errors import Fault
from knowledge.judging.box_columns import BoxColumns
from knowledge.judging.prepared import prepared
from knowledge.judging.rules import RULES
from knowledge.loading.cells import Tables
from knowledge.loading.check import not_one_each
from knowledge.loading.schema import OutcomeRow


def outcome_faults(tables: Tables, base: KnowledgeBase) -> Iterator[Fault]:
    """The outcomes that a rule decides between and that have no row, and the rows of no outcome."""
    ready = prepared(base)
    columns = BoxColumns(Cases.of(FillQuestion(), base), ready.classes, ready)
    wanted = []
    for rule in RULES:
        decision = rule.decide(columns)  # It names all of its outcomes, whatever the box.
        wanted += [(rule.id, name) for name in (*(name for _, name in decision.choices), decision.otherwise)]
    yield from not_one_each("outcomes.csv", ("rule", "outcome"), wanted, tables[OutcomeRow])
