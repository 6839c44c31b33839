"""Files to checked rows to a knowledge base or a shop: every row model and every package's checks, gathered."""

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from knowledge import faq
from knowledge.base import KnowledgeBase
from knowledge.box.checks import box_faults
from knowledge.errors import Fault, FaultyShop, FaultyTables, UnknownIds, UnknownRegion
from knowledge.every_table import EVERY_RULE, MODELS
from knowledge.fluids.checks import fluid_faults
from knowledge.ids import with_ids
from knowledge.judging.checks import outcome_faults
from knowledge.loading.cells import Placed, Tables, placed_rows
from knowledge.loading.check import declared_faults, key_faults, provenance_faults
from knowledge.loading.edition import CHANGES_FILE, VERSION_FILE, changes_faults, changes_of, stamped, version_faults
from knowledge.loading.files import TABLES, TableFile, digest_of, look_at, rewrite, text_of
from knowledge.loading.schema import Row
from knowledge.rings.checks import ring_faults
from knowledge.shop import rows as shop_rows
from knowledge.shop.checks import shop_faults
from knowledge.shop.shop import Shop
from knowledge.symptom.checks import symptom_faults

CHECKS = (fluid_faults, box_faults, ring_faults, symptom_faults)
# Rows that code asks for by their ids; without one of them an answer would lack what it must state.
ASKED_FOR = {
    "families": ("engine-oil", "mt-1"),
    "cautions": (
        "keep-pairs-together",
        "leftover-fluid",
        "lifting-the-gearbox",
        "lining-burn-and-glaze",
        "multi-cone-in-the-cold",
        "solid-additives",
        "too-slippery",
        "worn-ring-stays-worn",
    ),
}


def read_knowledge(folder: Path = TABLES) -> KnowledgeBase:
    """The knowledge base read from a folder of tables.

    Errors: FaultyTables with every fault found, each with file, line and column.
    """
    faults: list[Fault] = []
    tables = _rows_of((look_at(folder / file) for file in MODELS), MODELS, faults)
    version = (text_of(look_at(folder / VERSION_FILE), faults) or "").strip()
    faults = faults or [*version_faults(version), *_faults_between(tables)]
    if faults:
        raise FaultyTables(tuple(faults))
    # A service starts without the changes too.
    changes = changes_of(text_of(look_at(folder / CHANGES_FILE), []) or "")
    base = KnowledgeBase.of(tables, version=version, digest=digest_of(folder), changes=changes)
    if found := (*faq.faq_faults(tables[faq.FaqRow], base), *outcome_faults(tables, base)):
        raise FaultyTables(found)
    return base


def _rows_of(
    files: Iterable[TableFile], models: Mapping[str, type[Row]], faults: list[Fault], *, as_saved: bool = False
) -> Tables:
    """The rows of some files, each held to its model; what is wrong with them is added to the faults."""
    placed: dict[type[Row], tuple[Placed[Any], ...]] = {}
    for file, model in zip(files, models.values(), strict=True):
        text = text_of(file, faults, as_saved=as_saved)
        placed[model] = () if text is None else placed_rows(file.name, text, model, faults, as_saved=as_saved)
    return Tables(models, placed)


def _faults_between(tables: Tables) -> Iterable[Fault]:
    """Every fault that no single row can show by itself."""
    yield from declared_faults(tables, tables.ids)
    for name, wanted in ASKED_FOR.items():
        yield from (Fault(f"{name}.toml", 1, 1, f"no table for {id}") for id in wanted if id not in tables.ids(name))
    for check in CHECKS:
        yield from check(tables)
    yield from provenance_faults(tables, [(rule.id, cited) for rule in EVERY_RULE for cited in rule.sources])


def check_changes(base: KnowledgeBase, folder: Path = TABLES) -> None:
    """Hold CHANGES.md to the tables: a service starts without it, an edition does not go out without it.

    Errors: FaultyTables, when its newest entry is not of these tables.
    """
    _hold_to(base, _changes(folder))


def stamp_changes(base: KnowledgeBase, folder: Path = TABLES) -> None:
    """Write the digest of the tables into the newest entry of CHANGES.md.

    Errors: FaultyTables, when that entry is of another version.
    """
    changes = stamped(_changes(folder), base.digest)
    _hold_to(base, changes)
    rewrite(folder / CHANGES_FILE, changes)


def _changes(folder: Path) -> str:
    faults: list[Fault] = []
    text = text_of(look_at(folder / CHANGES_FILE), faults)
    if text is None:
        raise FaultyTables(tuple(faults))
    return text


def _hold_to(base: KnowledgeBase, changes: str) -> None:
    if faults := tuple(changes_faults(changes, base.version, base.digest)):
        raise FaultyTables(faults)


def read_shop(folder: Path | None, base: KnowledgeBase, region: str | None = None) -> Shop:
    """The shop's own boxes and shelf, read from a folder of tables; without a folder it has none.

    Errors: FaultyShop with every fault found, each with file, line and column.
    """
    return shop_of(look_at_shop(folder) if folder else None, base, region=region)


def _with_ids(tables: Tables, base: KnowledgeBase, faults: list[Fault]) -> Tables:
    """The tables of a shop with ids in place of the words that people use, as in a question."""
    of_shop = {"boxes": tables.ids("boxes")}

    def spelt(placed: Placed[Any]) -> Placed[Any]:
        try:
            return placed._replace(row=with_ids(placed.row, base, of_shop))
        except UnknownIds as error:
            for item in error.items:
                field = item.pointer.split("/")[1]
                faults.append(placed.fault(field, f"{field}: {item.told}"))
            return placed

    return Tables(tables.models, {model: tuple(map(spelt, items)) for model, items in tables.placed.items()})


def look_at_shop(folder: Path) -> tuple[TableFile, ...]:
    """The files of a shop as they stand now, whatever is in them."""
    return tuple(look_at(folder / file) for file in shop_rows.TABLES)


def shop_of(files: Iterable[TableFile] | None, base: KnowledgeBase, *, region: str | None = None) -> Shop:
    """The shop that these files describe, in a region of the knowledge.

    Errors: FaultyShop with every fault found, each with file, line and column; UnknownRegion.
    """
    if region is not None and region not in base.regions:
        raise UnknownRegion(region, base.regions)
    if files is None:
        return Shop.of(region=region)
    faults: list[Fault] = []
    tables = _rows_of(files, shop_rows.TABLES, faults, as_saved=True)
    spelt = _with_ids(tables, base, faults) if not faults else tables
    faults = faults or [*key_faults(spelt, spelt.ids), *shop_faults(spelt, base)]
    if faults:
        raise FaultyShop(tuple(faults))
    boxes, rings, shelf = spelt.rows(shop_rows.BoxRow), spelt.rows(shop_rows.RingSetRow), spelt.rows(shop_rows.ShelfRow)
    return Shop.of(boxes, rings, shelf, region)
