"""What must hold in the tables of the shift question: one row of each is chosen, and no facing is left out."""

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from knowledge.errors import Fault
from knowledge.shifts.questions import ShiftQuestion
from knowledge.shifts.rows import STEEL_CONE, UNIT_OF_LIMIT

if TYPE_CHECKING:
    from knowledge.placed_tables import Placed

READ_DEFAULTS = {
    ("shift", name)
    for name in (
        "shift_force_n", "spline_to_mean_radius", "chamfer_included_deg", "chamfer_friction", "drag_nm", "cones",
        "shifts", "shift_interval_s", "sump_c", "contact_share", "warming_depth_mm", "cooling_time_constant_s",
    )
} | {("ring_geometry", name) for name in ("mean_radius_mm", "face_width_mm", "detent_force_n")}  # fmt: skip
READ_THRESHOLDS = (
    "steel-cone-bulk-from", "synchronizing-long-from", "taper-gap-from", "wiping-time-baulk-from"
)  # fmt: skip

Tables = Mapping[str, "tuple[Placed, ...]"]
Key = tuple[Any, ...]


def shift_contradictions(tables: Tables) -> Iterator[Fault]:
    """Every fault of these tables that no single row can show by itself."""
    facings = [placed.row.id for placed in tables["facings"]]
    families = [placed.row.id for placed in tables["families"]]
    yield from _not_one_chosen(
        "facing_limits", ("facing", "quantity"), [(id, name) for id in facings for name in UNIT_OF_LIMIT], tables
    )
    yield from _not_one_chosen("facing_thermal", ("material",), [(id,) for id in (*facings, STEEL_CONE)], tables)
    yield from _not_one_chosen("friction", ("facing",), [(id,) for id in facings], tables)
    yield from _not_one_each(
        "friction_by_fluid", ("facing", "family"), [(id, family) for id in facings for family in families], tables
    )
    levers = [("cones", None), ("mean_radius_mm", None), ("shift_force_n", None), ("shift_interval_s", None)]
    levers += [("half_angle_deg", id) for id in facings]
    yield from _not_one_each("shift_bounds", ("lever", "facing"), levers, tables)
    yield from _impossible_rows(tables)
    yield from _missing_figures(tables)


def _not_one_chosen(name: str, columns: tuple[str, ...], wanted: list[Key], tables: Tables) -> Iterator[Fault]:
    """Of rows that disagree exactly one is chosen, and its note, and that of each other, gives the reason."""
    yield from _missing_or_twice(name, columns, wanted, [item for item in tables[name] if item.row.chosen], "chosen ")
    for placed in tables[name]:
        if _key(placed, columns) not in wanted:
            yield placed.fault(columns[0], f"{columns[0]}: {_key(placed, columns)[0]!r} is not one of those known here")
        if not placed.row.note:
            yield placed.fault("note", "note must say why the row is chosen or not")


def _not_one_each(name: str, columns: tuple[str, ...], wanted: list[Key], tables: Tables) -> Iterator[Fault]:
    yield from _missing_or_twice(name, columns, wanted, tables[name], "")


def _missing_or_twice(
    name: str, columns: tuple[str, ...], wanted: list[Key], items: "Iterable[Placed]", which: str
) -> Iterator[Fault]:
    left = dict.fromkeys(wanted)
    for placed in items:
        key = _key(placed, columns)
        if key not in left:
            words = " / ".join(str(part) for part in key if part)
            yield placed.fault(columns[0], f"a {which}row for {words} stands twice or is of no use here")
        left.pop(key, None)
    for key in left:
        yield Fault(f"{name}.csv", 1, 1, f"no {which}row for {' / '.join(str(part) for part in key if part)}")


def _key(placed: "Placed", columns: tuple[str, ...]) -> Key:
    return tuple(getattr(placed.row, column) for column in columns)


def _impossible_rows(tables: Tables) -> Iterator[Fault]:
    for placed in tables["facing_limits"]:
        if placed.row.unit != (unit := UNIT_OF_LIMIT[placed.row.quantity]):
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
        if row.chosen and (row.static_to_dynamic_typical or 0) < 1:
            yield placed.fault(
                "static_to_dynamic_typical", "static_to_dynamic_typical must be 1 or more in a chosen row"
            )
        elif row.chosen and (row.static_to_dynamic_max or 0) < row.static_to_dynamic_typical:
            yield placed.fault("static_to_dynamic_max", "static_to_dynamic_max must not be below the typical one")
    for placed in tables["shift_bounds"]:
        if placed.row.low >= placed.row.high:
            yield placed.fault("high", "high must be above low")


def _missing_figures(tables: Tables) -> Iterator[Fault]:
    """What the shift reads has to be there, and what is assumed has to be such as could be asked."""
    defaults = {(placed.row.part, placed.row.quantity): placed for placed in tables["defaults"]}
    for part, quantity in sorted(READ_DEFAULTS - set(defaults)):
        yield Fault("defaults.csv", 1, 1, f"no row for {part} / {quantity}")
    for key in sorted(READ_DEFAULTS & set(defaults)):
        placed, name = defaults[key], key[1]
        value = int(placed.row.value) if name in ("cones", "shifts") else placed.row.value
        try:
            if name in ShiftQuestion.model_fields:
                ShiftQuestion(inertia_kg_m2=1, speed_difference_rpm=1, **{name: value})
            usable = value > 0 or name in ("drag_nm", "sump_c", "chamfer_friction")
        except ValidationError:
            usable = False
        if not usable:
            yield placed.fault("value", f"value is not one that {name} can have")
    known = {placed.row.id for placed in tables["thresholds"]}
    yield from (Fault("thresholds.csv", 1, 1, f"no row for {id}") for id in READ_THRESHOLDS if id not in known)
