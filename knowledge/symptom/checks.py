"""What must hold between the tables of complaints: every mark can be seen, every suspect can be reached and checked."""

from collections.abc import Iterator

from knowledge.errors import Fault
from knowledge.judging.rules import RULES
from knowledge.loading.cells import Placed, Tables
from knowledge.symptom.observations import EFFECTS, VALUES
from knowledge.text import nearest


def complaint_contradictions(tables: Tables) -> Iterator[Fault]:
    """Every fault of symptoms, suspects, evidence and checks that no single row can show by itself."""
    yield from _evidence_faults(tables)
    yield from _check_faults(tables)
    yield from _symptom_faults(tables)
    yield from _suspect_faults(tables)


def marks(symptoms: tuple[str, ...]) -> tuple[str, ...]:
    """Every `field=value` that can be seen."""
    return (
        *(f"symptoms={symptom}" for symptom in symptoms),
        *(f"{field}={value}" for field, values in VALUES.items() for value in values),
        *(f"finding={rule.id}:{effect}" for rule in RULES for effect in EFFECTS),
    )


def _evidence_faults(tables: Tables) -> Iterator[Fault]:
    known = marks(tuple(placed.row.id for placed in tables["symptoms"]))
    first: dict[tuple[str, str | None, str], int] = {}
    for placed in tables["evidence"]:
        row = placed.row
        for field in ("seen", "only_with"):
            mark = getattr(row, field)
            if mark is not None and mark not in known:
                hint = nearest(mark, known)
                also = f"; did you mean {hint!r}?" if hint else ""
                yield placed.fault(field, f"{field}: {mark!r} is nothing that can be seen{also}")
        if row.steps == 0:
            yield placed.fault("steps", "steps must not be 0: it would move nothing; leave the row out")
        line = first.setdefault((row.seen, row.only_with, row.suspect), placed.line)
        if line != placed.line:
            yield placed.fault("suspect", f"line {line} says already what {row.seen!r} means for {row.suspect!r}")


def _check_faults(tables: Tables) -> Iterator[Fault]:
    suspects = [placed.row.id for placed in tables["suspects"]]
    known = marks(tuple(placed.row.id for placed in tables["symptoms"]))
    for placed in tables["checks"]:
        if not placed.row.outcomes:
            yield placed.fault("outcomes", "outcomes must tell at least one result and what it points to")
        yield from _unknown_marks(placed, ("always_when", "impossible_when"), known)
        for suspect in (id for outcome in placed.row.outcomes for id in outcome.points_to):
            if suspect not in suspects:
                hint = nearest(suspect, suspects)
                also = f"; did you mean {hint!r}?" if hint else ""
                yield placed.fault("outcomes", f"outcomes: {suspect!r} is not in the table 'suspects'{also}")


def _unknown_marks(placed: Placed, fields: tuple[str, ...], known: tuple[str, ...]) -> Iterator[Fault]:
    for field in fields:
        for mark in getattr(placed.row, field):
            if mark not in known:
                yield placed.fault(field, f"{field}: {mark!r} is nothing that can be seen")


def _symptom_faults(tables: Tables) -> Iterator[Fault]:
    seen = {placed.row.seen for placed in tables["evidence"]}
    for placed in tables["symptoms"]:
        implied = {f"{field}={value}" for field, value in placed.row.implies.model_dump(exclude_none=True).items()}
        if seen.isdisjoint({f"symptoms={placed.row.id}", *implied}):
            yield placed.fault("id", f"no row of evidence says what {placed.row.id!r} points to")


def _suspect_faults(tables: Tables) -> Iterator[Fault]:
    suspected = {placed.row.suspect for placed in tables["evidence"] if placed.row.steps > 0}
    known = marks(tuple(placed.row.id for placed in tables["symptoms"]))
    for placed in tables["suspects"]:
        row = placed.row
        if (row.side, row.fluid_cures) in (("hardware", "yes"), ("fluid", "no")):
            yield placed.fault("fluid_cures", f"fluid_cures: {row.fluid_cures!r} contradicts the side")
        yield from _unknown_marks(placed, ("impossible_when", "shown_by"), known)
        if row.id not in suspected:
            yield placed.fault("id", f"no row of evidence speaks for {row.id!r}")
        checks = [
            check.row
            for check in tables["checks"]
            if any(row.id in outcome.points_to for outcome in check.row.outcomes)
        ]
        if not checks:
            yield placed.fault("id", f"no check has an outcome that points to {row.id!r}")
        elif not any(set(check.impossible_when) <= set(row.impossible_when) for check in checks):
            yield placed.fault("id", f"no check that points to {row.id!r} can be made whenever it is a suspect")
