"""The row models and checks of every package, gathered: files to rows to a knowledge base or a shop."""

from collections.abc import Iterable, Mapping
from pathlib import Path

from knowledge.base import KnowledgeBase
from knowledge.checks import contradictions
from knowledge.errors import Fault, FaultyShop, FaultyTables
from knowledge.faq import FaqRow, faq_faults
from knowledge.loading import facing_rows as shift_rows
from knowledge.loading import scales as scale_rows
from knowledge.loading import schema as rows
from knowledge.loading.cells import Placed, csv_rows, toml_rows
from knowledge.loading.edition import CHANGES_FILE, VERSION_FILE, changes_faults, stamped, version_faults
from knowledge.loading.files import TABLES, TableFile, digest_of, look_at, rewrite, text_of
from knowledge.shop import rows as shop_rows
from knowledge.shop.checks import shop_contradictions
from knowledge.shop.shop import Shop
from knowledge.symptom import rows as symptom_rows

CSV_TABLES: Mapping[str, type[rows.Row]] = {
    "lubricants": rows.LubricantRow,
    "sae_j306": scale_rows.J306Row,
    "sae_j300": scale_rows.J300Row,
    "iso_3448": scale_rows.IsoRow,
    "astm_d2270": scale_rows.ReferenceOilRow,
    "copper_strip": scale_rows.CopperStripRow,
    "facing_families": rows.FacingFamilyRow,
    "ring_lands": rows.RingLandRow,
    "friction": rows.FrictionRow,
    "defaults": rows.DefaultRow,
    "thresholds": rows.ThresholdRow,
    "duties": rows.DutyRow,
    "plausible_values": rows.PlausibleValueRow,
    "outcomes": rows.OutcomeRow,
    "evidence": symptom_rows.EvidenceRow,
    "facing_limits": shift_rows.FacingLimitRow,
    "facing_thermal": shift_rows.FacingThermalRow,
    "friction_by_fluid": shift_rows.FrictionByFluidRow,
    "shift_bounds": shift_rows.ShiftBoundRow,
}

TOML_TABLES: Mapping[str, type[rows.Row]] = {
    "sources": rows.SourceRow,
    "families": rows.FamilyRow,
    "facings": rows.FacingRow,
    "bodies": rows.BodyRow,
    "unknowns": rows.UnknownRow,
    "cautions": rows.CautionRow,
    "symptoms": symptom_rows.SymptomRow,
    "suspects": symptom_rows.SuspectRow,
    "checks": symptom_rows.CheckRow,
    "faq": FaqRow,
    "words": rows.WordRow,
}

SHOP_TABLES: Mapping[str, type[rows.Row]] = {
    "boxes": shop_rows.BoxRow,
    "rings": shop_rows.RingSetRow,
    "shelf": shop_rows.ShelfRow,
}


def read_knowledge(folder: Path | None = None) -> KnowledgeBase:
    """The knowledge base read from a folder of tables.

    Errors: FaultyTables with every fault found, each with file, line and column.
    """
    folder = folder or TABLES
    placed: dict[str, tuple[Placed, ...]] = {}
    faults: list[Fault] = []
    for name, model in CSV_TABLES.items():
        text = text_of(look_at(folder / f"{name}.csv"), faults)
        placed[name] = () if text is None else csv_rows(f"{name}.csv", text, model, faults)
    for name, model in TOML_TABLES.items():
        text = text_of(look_at(folder / f"{name}.toml"), faults)
        placed[name] = () if text is None else toml_rows(f"{name}.toml", text, model, faults)
    version = text_of(look_at(folder / VERSION_FILE), faults)
    if version is not None:
        faults.extend(version_faults(version.strip()))
    if not faults:
        faults.extend(contradictions(placed))
    if faults:
        raise FaultyTables(tuple(faults))
    base = KnowledgeBase.of(
        {name: tuple(item.row for item in items) for name, items in placed.items()},
        version=version.strip(),
        digest=digest_of(folder),
    )
    if unfilled := tuple(faq_faults(placed["faq"], base)):
        raise FaultyTables(unfilled)
    return base


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


def read_shop(folder: Path, base: KnowledgeBase) -> Shop:
    """The shop's own boxes and shelf, read from a folder of tables.

    Errors: FaultyShop with every fault found, each with file, line and column.
    """
    return shop_of(look_at_shop(folder), base)


def look_at_shop(folder: Path) -> tuple[TableFile, ...]:
    """The files of a shop as they stand now, whatever is in them."""
    return tuple(look_at(folder / f"{name}.csv") for name in SHOP_TABLES)


def shop_of(files: Iterable[TableFile], base: KnowledgeBase) -> Shop:
    """The shop that these files describe.

    Errors: FaultyShop with every fault found, each with file, line and column.
    """
    faults: list[Fault] = []
    placed: dict[str, tuple[Placed, ...]] = {}
    for file, (name, model) in zip(files, SHOP_TABLES.items()):
        text = text_of(file, faults)
        placed[name] = () if text is None else csv_rows(file.name, text, model, faults)
    if not faults:
        faults.extend(shop_contradictions(placed, base))
    if faults:
        raise FaultyShop(tuple(faults))
    return Shop.of(*(tuple(item.row for item in placed[name]) for name in SHOP_TABLES))
