"""What must hold between tables: references resolve, bands are possible, nothing lies about unused."""

from collections.abc import Iterator
from itertools import product

from knowledge.box.checks import figure_contradictions
from knowledge.box.circumstances import CIRCUMSTANCES
from knowledge.box.possible import NO_RINGS
from knowledge.catalogue import EVERY_RULE
from knowledge.errors import Fault
from knowledge.fluids.band_checks import band_contradictions
from knowledge.loading.cells import Tables
from knowledge.loading.keys import not_one_each
from knowledge.loading.references import dangling_references
from knowledge.loading.references import references as _references
from knowledge.parts.provenance import STANDINGS_FROM_STRONGEST
from knowledge.rings.checks import shift_contradictions
from knowledge.symptom.checks import complaint_contradictions

# Rows that code asks for by their ids; without one of them an answer would fall silent where it has to speak.
ASKED_FOR = {
    "families": ("engine-oil", "mt-1"),
    "cautions": (
        "keep-pairs-together",
        "leftover-fluid",
        "lifting-the-gearbox",
        "lining-burn-and-glaze",
        "multi-cone-in-the-cold",
        "service-data-decides",
        "solid-additives",
        "too-slippery",
        "worn-ring-stays-worn",
    ),
}


def contradictions(tables: Tables) -> Iterator[Fault]:
    """Every fault that no single row can show by itself."""
    for items in tables.values():
        yield from dangling_references(items, lambda name: _ids(tables, name))
    for name, wanted in ASKED_FOR.items():
        yield from (Fault(f"{name}.toml", 1, 1, f"no table for {id}") for id in wanted if id not in _ids(tables, name))
    yield from band_contradictions(tables)
    yield from figure_contradictions(tables)
    yield from _unknown_circumstances(tables)
    yield from _gaps_in_matrices(tables)
    yield from complaint_contradictions(tables)
    yield from shift_contradictions(tables)
    yield from _overstated_rows(tables)
    yield from _unused_rows(tables)


def _ids(tables: Tables, name: str) -> tuple[str, ...]:
    key = "rating" if name == "copper_strip" else "id"
    return tuple(getattr(placed.row, key) for placed in tables[name])


def _unknown_circumstances(tables: Tables) -> Iterator[Fault]:
    for placed in tables["cautions"]:
        for name in placed.row.when:
            if name not in CIRCUMSTANCES:
                yield placed.fault("when", f"when: {name!r} is not one of {', '.join(CIRCUMSTANCES)}")


def _gaps_in_matrices(tables: Tables) -> Iterator[Fault]:
    facings, families = _ids(tables, "facings"), _ids(tables, "families")
    yield from not_one_each(
        "facing_families", ("facing", "family"), product((NO_RINGS, *facings), families), tables["facing_families"]
    )
    yield from not_one_each(
        "ring_lands", ("facing", "condition"), product(facings, ("new", "worn")), tables["ring_lands"]
    )


def _overstated_rows(tables: Tables) -> Iterator[Fault]:
    """The rows that claim a better standing than the best of the sources they cite."""
    standings = {placed.row.id: placed.row.standing for placed in tables["sources"]}
    for placed in (placed for items in tables.values() for placed in items if hasattr(placed.row, "standing")):
        cited = [standings[id] for _, id, table in _references(placed) if table == "sources" and id in standings]
        best = min(cited, key=STANDINGS_FROM_STRONGEST.index, default=None)
        if best and STANDINGS_FROM_STRONGEST.index(placed.row.standing) < STANDINGS_FROM_STRONGEST.index(best):
            yield placed.fault(
                "standing", f"standing must not be better than {best!r}, which is the best of its sources"
            )


def _unused_rows(tables: Tables) -> Iterator[Fault]:
    used = {(table, value) for items in tables.values() for placed in items for _, value, table in _references(placed)}
    cited = [(rule, citation.id) for rule in EVERY_RULE for citation in rule.sources]
    sources = _ids(tables, "sources")
    for placed in tables["sources"]:
        if ("sources", placed.row.id) not in used and placed.row.id not in {id for _, id in cited}:
            yield placed.fault("id", f"no table and no rule uses the source {placed.row.id!r}")
    for rule, id in cited:
        if id not in sources:
            yield Fault("sources.toml", 1, 1, f"the rule {rule.id!r} cites {id!r}, which is not here")
    for placed in tables["cautions"]:
        if not placed.row.when and ("cautions", placed.row.id) not in used:
            yield placed.fault("when", f"no circumstance and no other table calls for the caution {placed.row.id!r}")
