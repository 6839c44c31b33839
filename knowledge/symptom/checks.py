"""What must hold between the tables of complaints: every mark can be seen, every suspect can be reached and checked."""

from collections.abc import Collection, Iterable, Iterator

from knowledge.errors import Fault
from knowledge.judging.rules import RULES
from knowledge.loading.cells import Placed, Tables
from knowledge.loading.check import no_such
from knowledge.loading.schema import OutcomeRow
from knowledge.symptom.observations import EFFECTS, VALUES
from knowledge.symptom.rows import CheckRow, EvidenceRow, SuspectRow, SymptomRow


def symptom_faults(tables: Tables) -> Iterator[Fault]:
    """Every fault of symptoms, suspects, evidence and checks that no single row can show by itself."""
    known = marks(tables.ids("symptoms"), tables.rows(OutcomeRow))
    for evidence in tables[EvidenceRow]:
        yield from _unknown_marks(evidence, ("seen", "only_with"), known)
        if evidence.row.steps == 0:
            yield evidence.fault("steps", "steps must not be 0: it would move nothing; leave the row out")
    for check in tables[CheckRow]:
        if not check.row.outcomes:
            yield check.fault("outcomes", "outcomes must tell at least one result and what it points to")
        yield from _unknown_marks(check, ("always_when", "impossible_when", "only_when"), known)
    seen = {row.seen for row in tables.rows(EvidenceRow)}
    for symptom in tables[SymptomRow]:
        yield from _unknown_marks(symptom, ("implies",), known)
        if seen.isdisjoint({f"symptoms={symptom.row.id}", *symptom.row.implies}):
            yield symptom.fault("id", f"no row of evidence says what {symptom.row.id!r} points to")
    yield from _suspect_faults(tables, known)


def marks(symptoms: tuple[str, ...], outcomes: Iterable[OutcomeRow]) -> tuple[str, ...]:
    """Every `field=value` that can be seen."""
    return (
        *(f"symptoms={symptom}" for symptom in symptoms),
        *(f"{field}={value}" for field, values in VALUES.items() for value in values),
        *(f"finding={rule.id}:{effect}" for rule in RULES for effect in EFFECTS),
        *(f"finding={row.rule}:{row.outcome}" for row in outcomes),
    )


def _unknown_marks(
    placed: Placed[EvidenceRow] | Placed[CheckRow] | Placed[SuspectRow] | Placed[SymptomRow],
    fields: tuple[str, ...],
    known: Collection[str],
) -> Iterator[Fault]:
    for field in fields:
        value = getattr(placed.row, field) or ()
        for mark in (value,) if isinstance(value, str) else value:
            if mark not in known:
                yield placed.fault(field, f"{field}: {no_such(mark, known, 'is nothing that can be seen')}")


def _suspect_faults(tables: Tables, known: Collection[str]) -> Iterator[Fault]:
    suspected = {row.suspect for row in tables.rows(EvidenceRow) if row.steps > 0}
    for placed in tables[SuspectRow]:
        row = placed.row
        if (row.side, row.fluid_cures) in (("hardware", "yes"), ("fluid", "no")):
            yield placed.fault("fluid_cures", f"fluid_cures: {row.fluid_cures!r} contradicts the side")
        yield from _unknown_marks(placed, ("impossible_when", "opens_unless", "shown_by"), known)
        if row.id not in suspected:
            yield placed.fault("id", f"no row of evidence speaks for {row.id!r}")
        checks = [
            check for check in tables.rows(CheckRow) if any(row.id in outcome.points_to for outcome in check.outcomes)
        ]
        if not checks:
            yield placed.fault("id", f"no check has an outcome that points to {row.id!r}")
        elif not any(set(check.impossible_when) <= set(row.impossible_when) for check in checks):
            yield placed.fault("id", f"no check that points to {row.id!r} can be made whenever it is a suspect")
