"""The public questions: figures come from their tables, and a place that names none is a fault of the table."""

import re

import pytest

from knowledge.assemble import read_knowledge
from knowledge.faq import MARK, PLACE, UNCHECKED, FaqRow, faq_entries

TYPED_ON_PURPOSE = {
    # Names of grades, ratings and specifications, and the temperatures at which an oil is measured.
    "75W", "80W", "90", "80", "75", "40", "110", "5", "4", "1", "0", "100", "2005", "2019",
}  # fmt: skip


def test_there_are_at_least_twenty_with_sources_and_most_with_cautions(base) -> None:
    entries = faq_entries(base)
    assert len(entries) >= 20
    assert all(entry.sources and entry.answer.endswith(".") for entry in entries)
    assert sum(bool(entry.cautions) for entry in entries) >= len(entries) - 1


def test_no_place_is_left_in_what_is_said(base) -> None:
    for entry in faq_entries(base):
        assert not re.search(r"[{}]", entry.answer)
        assert len(entry.figures) == len(PLACE.findall(base.by_id(FaqRow)[entry.id].answer))
        for figure in entry.figures:
            assert figure.text in entry.answer
            assert all(cited.id in base.sources for cited in figure.sources)


def test_a_figure_from_memory_or_of_our_judgement_is_marked(base) -> None:
    figures = [(entry, figure) for entry in faq_entries(base) for figure in entry.figures]
    assert {figure.standing for _, figure in figures} >= {"standard", "judgement", "from-memory"}
    for entry, figure in figures:
        assert (figure.text + MARK in entry.answer) == (figure.standing in UNCHECKED), (entry.id, figure.text)


def test_what_a_customer_holds_is_never_asked_as_the_makers_service_data(base) -> None:
    as_service_data = {
        entry.id
        for entry in faq_entries(base)
        for name, value in (entry.counter.model_dump() if entry.counter else {}).items()
        if name.startswith("service_") and value is not None
    }
    # The one question in which a customer reads from the service book.
    assert as_service_data == {"old-book-says-90"}


def test_no_number_is_typed_into_an_answer(base) -> None:
    for row in base.by_id(FaqRow).values():
        typed = set(re.findall(r"\d+W?", re.sub(r"ASTM D\d+|MT-1", "", PLACE.sub("", row.answer))))
        assert typed <= TYPED_ON_PURPOSE, row.id


def test_the_figures_are_those_the_standard_prints(base) -> None:
    # SAE J306 (2019 and 2005) and J300 (2024) as printed; tests/golden/retyped holds the whole tables.
    answers = {entry.id: entry.answer for entry in faq_entries(base)}
    assert "13.5 to below 18.5 mm²/s" in answers["what-75w-90-means"]
    assert "-40 °C, with at most 150\N{NO-BREAK SPACE}000 mPa·s" in answers["what-75w-90-means"]
    assert "began at 7 mm²/s" in answers["why-75w-80-changed-its-name"]
    assert "begins at 8.5" in answers["why-75w-80-changed-its-name"]
    assert "from 12.5 to below 16.3" in answers["gear-and-engine-oil-numbers"]


def test_what_is_left_after_drains_is_a_power_of_what_one_leaves(base) -> None:
    # Balance of volumes with perfect mixing: what stays is (1 - drained share) to the power of the rounds.
    left = 1 - base.limit("drained-share-usual")
    texts = [figure.text for entry in faq_entries(base) for figure in entry.figures if "left_after" in figure.place]
    assert [float(text.split("\N{NO-BREAK SPACE}")[0]) for text in texts] == pytest.approx(
        [100 * left**rounds for rounds in (1, 2, 3)], rel=0.05
    )


def test_an_edit_of_a_table_reaches_the_answer(tables) -> None:
    file = tables / "thresholds.csv"
    file.write_text(file.read_text(encoding="utf-8").replace("lining-kv100-below,13.5", "lining-kv100-below,12.25"))
    entry = next(entry for entry in faq_entries(read_knowledge(tables)) if entry.id == "lined-rings")
    assert "less than 12.25*" in entry.answer


@pytest.mark.parametrize(
    "place",
    [
        "thresholds.no-such-limit.value",
        "thresholds.lining-kv100-below.colour",
        "sae_j306.2019.90",
        "sae_j306.2019.91.kv100_min_mm2_s",
        "sae_j306.2019.250.kv100_max_mm2_s",
        "oils.x.y",
        "left_after_drains.many",
        "left_after_drains",
        "least_times_thicker.no-such-class.0.100",
        "thresholds.lining-kv100-below.value:spelled",
        "",
    ],
)
def test_a_place_that_names_no_figure_is_a_fault_with_its_line(spoilt, place: str) -> None:
    (fault,) = spoilt("faq.toml", "{thresholds.lining-kv100-below.value}", f"{{{place}}}")
    assert str(fault).startswith("faq.toml:4:1: answer: {")


def test_a_brace_that_stands_alone_is_a_fault(spoilt) -> None:
    assert "stands alone" in str(spoilt("faq.toml", "{thresholds.lining-kv100-below.value}", "{13.5")[0])


def test_a_counter_question_must_be_one_that_can_be_asked(spoilt) -> None:
    assert "'papr' is not in the table 'facings'" in str(spoilt("faq.toml", 'facing = "paper"', 'facing = "papr"')[0])
    assert spoilt("faq.toml", 'facing = "papr"', 'fcing = "paper"')
