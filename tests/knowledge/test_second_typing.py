"""Every figure, grade and standing of the published scales is what was typed a second time."""

import csv

import pytest

from knowledge.base import KnowledgeBase
from knowledge.loading.files import TABLES
from knowledge.loading.scales import IsoRow
from tests.golden.second_typing import FREE_TEXT, RETYPED, SCALES, differences, typed_columns


@pytest.mark.parametrize("scale", SCALES)
def test_a_scale_holds_what_was_typed_a_second_time(scale: str, base: KnowledgeBase) -> None:
    assert list(differences(scale, (TABLES / f"{scale}.csv").read_text(encoding="utf-8"))) == []
    assert typed_columns(scale) == set(type(base.tables[scale][0]).model_fields) - FREE_TEXT


def test_a_scale_that_differs_from_its_second_typing_is_noticed() -> None:
    text = (TABLES / "sae_j306.csv").read_text(encoding="utf-8")
    assert list(differences("sae_j306", text.replace("\n2019,75W,-40,", "\n2019,75W,-41,"))) == [
        "sae_j306_2019.csv: row 2 cold_limit_c is '-41', typed was '-40'"
    ]


def test_the_edges_of_iso_3448_are_those_typed_a_second_time(base: KnowledgeBase) -> None:
    with (RETYPED / "iso_3448.csv").open(encoding="utf-8", newline="") as file:
        for row, typed in zip(base.rows(IsoRow), csv.DictReader(file), strict=True):
            assert row.kv40_min_mm2_s == float(typed["kv40_min_mm2_s"])
            assert row.kv40_max_mm2_s == float(typed["kv40_max_mm2_s"])
