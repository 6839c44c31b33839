"""What must hold in the tables of the shift question: one row of each is chosen, and no facing is left out."""

from collections.abc import Iterable, Iterator
from itertools import product

from pydantic import ValidationError

from knowledge.box.named_figures import LOAD_OF_A_SHIFT
from knowledge.errors import Fault
from knowledge.loading.cells import Placed, Tables
from knowledge.loading.facing_rows import LEVER_NAMES, LIMIT_NAMES, STEEL_CONE
from knowledge.loading.keys import Key, key_of, not_one_each
from knowledge.parts.request_model import whole
from knowledge.parts.units import unit_of
from knowledge.rings.shift_question import ShiftQuestion


def shift_contradictions(tables: Tables) -> Iterator[Fault]:
    """Every fault of these tables that no single row can show by itself."""
    facings = [placed.row.id for placed in tables["facings"]]
    families = [placed.row.id for placed in tables["families"]]
    yield from _not_one_chosen("facing_limits", ("facing", "quantity"), product(facings, LIMIT_NAMES), tables)
    yield from _not_one_chosen("facing_thermal", ("material",), product((*facings, STEEL_CONE)), tables)
    yield from _not_one_chosen("friction", ("facing",), product(facings), tables)
    yield from not_one_each(
        "friction_by_fluid", ("facing", "family"), product(facings, families), tables["friction_by_fluid"]
    )
    levers = [(name, None) for name in LEVER_NAMES if name != "half_angle_deg"]
    levers += [("half_angle_deg", id) for id in facings]
    yield from not_one_each("shift_bounds", ("lever", "facing"), levers, tables["shift_bounds"])
    yield from _impossible_rows(tables)
    for placed in tables["shift_bounds"]:
        yield from _impossible_bound(placed)


def _not_one_chosen(name: str, columns: tuple[str, ...], wanted: Iterable[Key], tables: Tables) -> Iterator[Fault]:
    """Of rows that disagree exactly one is chosen, and its note, and that of each other, gives the reason."""
    keys = tuple(wanted)
    yield from not_one_each(name, columns, keys, [item for item in tables[name] if item.row.chosen], "chosen ")
    for placed in tables[name]:
        if key_of(placed, columns) not in keys:
            yield placed.fault(columns[0], f"{columns[0]}: {getattr(placed.row, columns[0])!r} is not known here")
        begins = "Chosen" if placed.row.chosen else "Not chosen"
        if not (placed.row.note or "").startswith(begins):
            yield placed.fault("note", f"note must begin with {begins!r} and say why")


def _impossible_rows(tables: Tables) -> Iterator[Fault]:
    for placed in tables["facing_limits"]:
        if placed.row.unit != (unit := unit_of(placed.row.quantity)):
            yield placed.fault("unit", f"unit must be {unit}")
    for placed in tables["facing_thermal"]:
        row = placed.row
        low, high = row.conductivity_min_w_m_k, row.conductivity_max_w_m_k
        if not (low or row.conductivity_w_m_k) <= row.conductivity_w_m_k <= (high or row.conductivity_w_m_k):
            yield placed.fault("conductivity_w_m_k", "conductivity_w_m_k must lie between its min and its max")
        if row.chosen and row.density_kg_m3 is None:
            yield placed.fault("density_kg_m3", "density_kg_m3 must be given in a chosen row")
    for placed in tables["friction"]:
        row = placed.row
        if row.dynamic_min > row.dynamic_max:
            yield placed.fault("dynamic_max", "dynamic_max must not be below dynamic_min")
        if row.chosen and row.static_to_dynamic_typical is None:
            yield placed.fault("static_to_dynamic_typical", "static_to_dynamic_typical must be given in a chosen row")
        elif row.chosen and (row.static_to_dynamic_max or 0) < row.static_to_dynamic_typical:
            yield placed.fault("static_to_dynamic_max", "static_to_dynamic_max must not be below the typical one")
    for placed in tables["ring_lands"]:
        if placed.row.film_end_um >= placed.row.film_start_um:
            yield placed.fault("film_end_um", "film_end_um must be below film_start_um")


def _impossible_bound(placed: Placed) -> Iterator[Fault]:
    """A least change is put as a question again, so its bounds have to be such as could be asked."""
    row = placed.row
    unit = "1" if row.is_ratio else unit_of(row.lever)
    if row.is_ratio != (row.lever == "mean_radius_mm"):
        yield placed.fault("is_ratio", "is_ratio must be true for the mean radius and for nothing else")
    elif row.unit != unit:
        yield placed.fault("unit", f"unit must be {unit}")
    if row.low >= row.high:
        yield placed.fault("high", "high must be above low")
    if row.is_ratio:
        if not 0 < row.low <= 1 <= row.high:
            yield placed.fault("low", "low must be above 0, and 1 must lie between low and high")
        return
    for end in ("low", "high"):
        try:
            ShiftQuestion.model_validate({**LOAD_OF_A_SHIFT, row.lever: whole(getattr(row, end))})
        except ValidationError:
            yield placed.fault(end, f"{end} is not one that {row.lever} can have")
