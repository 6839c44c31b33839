"""Figures that code asks for by name: a missing, idle, absurd or wrongly measured one is told with its place."""

import ast
from collections.abc import Iterable

import pytest

from knowledge.assemble import read_knowledge
from knowledge.base import KnowledgeBase
from knowledge.box.checks import TRIED_BY_TABLE
from knowledge.box.named_figures import THRESHOLDS
from knowledge.errors import FaultyTables
from knowledge.loading.files import TABLES

KNOWLEDGE = TABLES.parent


def strings(nodes: Iterable[ast.AST]) -> set[str]:
    """Every string within some parts of the code."""
    constants = (part for node in nodes for part in ast.walk(node) if isinstance(part, ast.Constant))
    return {part.value for part in constants if isinstance(part.value, str)}


def test_every_threshold_is_read_by_code_and_no_other_is_asked_for() -> None:
    readers = [path for path in KNOWLEDGE.rglob("*.py") if path.name != "named_figures.py"]
    modules = [ast.parse(path.read_text(encoding="utf-8")) for path in readers]
    calls = [node for module in modules for node in ast.walk(module) if isinstance(node, ast.Call)]
    asked = strings(arg for call in calls if getattr(call.func, "attr", "") == "limit" for arg in call.args)
    assert set(THRESHOLDS) <= strings(modules)
    assert asked <= set(THRESHOLDS)
    assert len(asked) > len(THRESHOLDS) / 2


def test_every_threshold_that_is_struck_out_is_missed(tables) -> None:
    path = tables / "thresholds.csv"
    head, *rows = path.read_text(encoding="utf-8").splitlines()
    path.write_text("\n".join([head, *(f"no-{row}" for row in rows), ""]), encoding="utf-8")
    with pytest.raises(FaultyTables) as error:
        read_knowledge(tables)
    told = [fault.message for fault in error.value.faults]
    assert {f"no row for {id}" for id in THRESHOLDS} <= set(told)
    assert sum("of no use here" in message for message in told) == len(THRESHOLDS)


FIGURES = [
    ("thresholds.csv", "lining-kv100-below,13.5,mm²/s", "lining-kv100-below,13.5,mPa·s", 3, "unit must be mm²/s"),
    ("thresholds.csv", "drained-share-usual,0.85,", "drained-share-usual,85,", 2, "from 0.001 to 0.999"),
    ("thresholds.csv", "steel-cone-bulk-from,260", "steel-cone-bulk-from,0", 2, "from 100 to 1000"),
    ("thresholds.csv", "film-lambda-ep-below,0.4", "film-lambda-ep-below,4", 2, "below that of film-lambda-additive"),
    ("defaults.csv", "pitch_diameter_mm,55,mm", "pitch_diameter_mm,55,cm", 4, "unit must be mm"),
    ("defaults.csv", "pitch_diameter_mm,55", "pitch_diameter_mm,-55", 3, "not one that pitch_diameter_mm can have"),
    ("defaults.csv", "shift,cones,1", "shift,cones,1.5", 3, "not one that cones can have"),
    ("defaults.csv", "steel,poisson_ratio,0.3", "steel,poisson_ratio,3", 3, "from 0 to 0.5"),
    ("defaults.csv", "ring_geometry,detent_force_n", "ring_geometry,spring_force_n", 2, "of no use here"),
    ("duties.csv", "on the street,85", "on the street,850", 5, "150 or less"),
    ("duties.csv", "on the street,85,true,400", "on the street,85,true,400000", 7, "20000 or less"),
]


@pytest.mark.parametrize(("file", "old", "new", "column", "told"), FIGURES)
def test_a_figure_that_cannot_stand_is_told_at_its_cell(spoilt, file, old, new, column, told) -> None:
    line = next(
        at for at, text in enumerate((TABLES / file).read_text(encoding="utf-8").splitlines(), 1) if old in text
    )
    assert (file, line, column) in [
        (fault.file, fault.line, fault.column) for fault in spoilt(file, old, new) if told in fault.message
    ]


TRIED = [
    ("coldest_start_c,-15,", "coldest_start_c,cold,"),
    ("coldest_start_c,-15,", "coldest_start_c,-150,"),
    ("coldest_start_c,-15,", "coldest_start_c,-15.0,"),
    ("coldest_start_c,-15,", "coldest_start_c,-30,"),
    ("cones,2,", "cones,two,"),
    ("cones,2,", "cones,9,"),
    ("condition,worn,", "condition,burnt,"),
    ("yellow_metal,true,", "yellow_metal,maybe,"),
    ("yellow_metal,true,", "yellow_metal,yes,"),
    ("final_drive,helical,", "final_drive,worm,"),
]


@pytest.mark.parametrize(("old", "new"), TRIED)
def test_a_value_that_could_not_be_asked_is_not_tried(spoilt, place, old: str, new: str) -> None:
    line = place("plausible_values.csv", old)[1]
    faults = spoilt("plausible_values.csv", f"\n{old}", f"\n{new}")
    assert {fault.file for fault in faults} == {"plausible_values.csv"}
    assert 2 in [fault.column for fault in faults if fault.line == line]


@pytest.mark.parametrize("value", ["facing,paper", "body,steel", "duty,towing", "rings,paper"])
def test_a_field_whose_values_stand_elsewhere_is_told(spoilt, value: str) -> None:
    row = f"\n{value},words,trade-practice,,common-practice,"
    (fault,) = spoilt("plausible_values.csv", "\nwet_clutch,false", f"{row}\nwet_clutch,false")
    assert fault.column == 1
    assert value.partition(",")[0] in fault.message


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("[duty]", "[dooty]", "no table for duty"),
        ('pointer = "/duty"', 'pointer = "/driven"', "pointer must be /duty"),
        ("it is used {values}", "it is used hard", "must hold {values} once"),
        ("it is used {values}", "it is used {value}", "must hold {values} once"),
    ],
)
def test_an_unknown_that_could_not_be_asked_about_is_told(spoilt, old: str, new: str, told: str) -> None:
    assert any(fault.file == "unknowns.toml" and told in fault.message for fault in spoilt("unknowns.toml", old, new))


def test_what_may_be_in_the_box_is_tried(base: KnowledgeBase) -> None:
    tried = {field: [item.value for item in base.plausible_values if item.field == field] for field in TRIED_BY_TABLE}
    assert tried == {
        "rings": ["none", *base.facings],
        "facing": [*base.facings],
        "body": [*base.bodies],
        "duty": [*base.duties],
    }


@pytest.mark.parametrize("field", ["rings", "cones", "wet_clutch"])
def test_a_field_without_a_value_to_try_is_told(tables, field: str) -> None:
    path = tables / "plausible_values.csv"
    lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
    path.write_text("".join(line for line in lines if not line.startswith(f"{field},")), encoding="utf-8")
    with pytest.raises(FaultyTables, match=f"no value to try for {field}"):
        read_knowledge(tables)
