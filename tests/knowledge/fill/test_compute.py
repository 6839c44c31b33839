"""The fill answer holds together, is short, and says what stands in the sources."""

from collections.abc import Sequence
from operator import attrgetter

import pytest
from hypothesis import given

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.fill.answer import FillAnswer, FullFillAnswer, LubricantAnswer
from knowledge.fill.compute import compute_fill_answer, compute_lubricant_answer
from tests.knowledge.fill.boxes import questions
from tests.knowledge.law import law

YELLOW, LINED = "full-ep-additives-attack-yellow-metal", "lined-rings-burn-under-thick-gear-oil"
COLD, HYPOID = "cold-start-needs-oil-that-flows", "hypoid-final-drive-needs-full-ep"
# What is refused, by which rule, and where that is written; what names no source is common practice.
REFUSED = {
    "80W at -35 °C, SAE J306: 150 000 mPa·s at -26 °C": (
        "bronze", {"coldest_start_c": -35.0}, ("gl-4-80w-90", "gl-3-80w-90", "gl-4-85w-90"), COLD,
    ),
    "75W at -45 °C, SAE J306: 150 000 mPa·s at -40 °C": (
        "bronze", {"coldest_start_c": -45.0}, ("gl-4-75w-90", "mtf-75w-75"), COLD,
    ),
    "GL-5 beside bronze, SAE J2360: not for worm gears": ("bronze", {}, ("gl-5-75w-90", "gl-4-gl-5-75w-90"), YELLOW),
    "GL-5 beside bushings of bronze, SAE J2360": (None, {"yellow_metal": True}, ("gl-5-80w-90",), YELLOW),
    "axle oil on paper, SAE 2002-01-1436: glazing": ("paper", {}, ("gl-5-75w-90", "gl-4-80w-90", "mtf-75w-90"), LINED),
    "GL-4 for hypoid gears, API 1560: GL-5": ("molybdenum", {"final_drive": "hypoid"}, ("gl-4-75w-90",), HYPOID),
    "limited-slip oil on rings, SAE 2004-01-2022": (
        "molybdenum", {}, ("gl-5-limited-slip-75w-90",), "limited-slip-modifier-lowers-ring-friction",
    ),
    "MT-1 on rings, ASTM D5760: scope": ("molybdenum", {}, ("mt-1-50",), "mt-1-is-for-boxes-without-rings"),
    "GL-1 in a car, API 1560 of 1995: generally not satisfactory": (
        "bronze", {"coldest_start_c": 5.0}, ("gl-1-90", "gl-1-140"), "gl-1-carries-no-protection",
    ),
}  # fmt: skip
MOST_BYTES = {"short": 8_000, "nothing stated": 14_000, "full": 150_000, "a jug": 300}
pytestmark = pytest.mark.filterwarnings("ignore:Generating overly large repr")  # of the knowledge base


@pytest.mark.parametrize(("facing", "changes", "ids", "rule"), REFUSED.values(), ids=REFUSED)
def test_what_a_source_refuses_is_refused_for_it(judge, box, place_of, finds, facing, changes, ids, rule) -> None:
    fields = box(facing, **changes)
    assert {judge(**fields).verdict(place_of[id]) for id in ids} == {"does-not-fit"}
    assert {finds(fields, id, rule).effect for id in ids} == {"excludes"}


def test_only_a_70w_starts_at_minus_45(ask_short, box) -> None:
    assert ask_short(**box("bronze", coldest_start_c=-45.0)).leader.lubricant.grade.startswith("70W")  # SAE J306


def test_a_mixed_set_with_paper_refuses_what_paper_refuses(ask_short, judge, box) -> None:
    mixed = box("molybdenum", rings=[ring for facing in ("molybdenum", "paper") for ring in box(facing)["rings"]])
    assert {*judge(**mixed).order} <= {*judge(**box("paper")).order}
    assert "mixed-rings" in [item.id for item in ask_short(**mixed).cautions]


def test_paper_on_a_bronze_body_still_warns_of_yellow_metal(ask, box) -> None:
    answer = ask(**box("paper", body="bronze", yellow_metal=False))
    assert "yellow-metal" in [item.id for item in answer.cautions]
    (corrected,) = [item for item in answer.question.assumed if item.pointer == "/yellow_metal"]
    assert corrected.value == "yes"
    assert "bronze" in corrected.reason


def test_a_caution_belongs_to_this_box(ask_short, box) -> None:
    def ids(*facing, **changes) -> set[str]:
        return {item.id for item in ask_short(**box(*facing, **changes)).cautions}

    assert "yellow-metal" not in ids("paper")
    assert "cold-first-shifts" not in ids(None)
    assert "hypoid-shares-oil" in ids("bronze", final_drive="hypoid")
    book = {"family": "gl-4", "grade": "75W-90"}
    assert "grade-name-edition" not in ids("bronze", service_data=book)
    assert "grade-name-edition" in ids("bronze", service_data=book | {"grade": "90"})
    assert "service-data-still-true" in ids("bronze", service_data=book)
    assert "service-data-still-true" not in ids(None, service_data=book)


def test_a_full_answer_holds_together(base, ask, ask_short) -> None:
    @law(8)
    @given(fields=questions(base))
    def holds(fields) -> None:
        answer = ask(**fields)
        assert_each_class_has_one_place(answer, base)
        explained = [
            compute_lubricant_answer(answer.candidates[place].lubricant.id, FillQuestion.model_validate(fields), base)
            for place in (0, -1)
        ]
        assert_what_is_held_against_a_class_is_said_once(answer, explained)
        assert_every_source_can_be_looked_up(answer, explained, base)
        assert_it_says_all_that_the_short_one_says(answer, ask_short(**fields))
        assert FullFillAnswer.model_validate_json(answer.model_dump_json()).model_dump() == answer.model_dump()

    holds()


def assert_each_class_has_one_place(answer: FullFillAnswer, base: KnowledgeBase) -> None:
    assert sorted(item.lubricant.id for item in answer.candidates) == sorted(base.lubricant_rows)
    ranks = [item.rank for item in answer.candidates if item.rank is not None]
    assert ranks == list(range(1, len(ranks) + 1))
    refused = [id for group in answer.refused for id in group.lubricants]
    assert sorted(refused) == sorted(item.lubricant.id for item in answer.candidates[len(ranks) :])


def assert_what_is_held_against_a_class_is_said_once(
    answer: FullFillAnswer, explained: Sequence[LubricantAnswer]
) -> None:
    assert len(set(answer.findings)) == len(answer.findings)
    candidates = {item.lubricant.id: item for item in answer.candidates}
    for one in explained:
        against = [finding.text for finding in one.findings if finding.effect != "supports"]
        assert [answer.findings[place].text for place in candidates[one.lubricant.id].findings_at] == against


def assert_every_source_can_be_looked_up(
    answer: FullFillAnswer, explained: Sequence[LubricantAnswer], base: KnowledgeBase
) -> None:
    findings = [finding for one in explained for finding in one.findings]
    assert all(finding.sources for finding in findings if finding.effect != "supports" or finding.figures)
    cautions = [base.cautions[item.id] for item in answer.cautions]
    named = {citation.id for part in (*findings, *cautions) for citation in part.sources}
    assert named <= {source.id for source in answer.sources} <= set(base.sources)


def assert_it_says_all_that_the_short_one_says(full: FullFillAnswer, short: FillAnswer) -> None:
    for name in set(type(short).model_fields) - {"ask_next", "cautions", "jugs", "leftover"}:
        assert getattr(short, name) == getattr(full, name)
    assert {item.id for item in short.cautions} <= {item.id for item in full.cautions}
    assert short.ask_next == full.ask_next[: len(short.ask_next)]


def test_an_answer_stays_short_and_is_the_same_each_time(base, ask_short) -> None:
    @law(25)
    @given(fields=questions(base))
    def holds(fields) -> None:
        answer = ask_short(**fields)
        assert 0 < len(answer.summary) <= 140
        assert 0 < len(answer.say.split()) <= 40
        assert all(item.because for item in answer.others)
        most = MOST_BYTES["short"] + MOST_BYTES["a jug"] * len(answer.jugs)
        assert len(answer.model_dump_json()) <= most
        assert ask_short(**fields).model_dump_json() == answer.model_dump_json()

    holds()


def test_the_empty_question_is_told_what_to_ask(ask, ask_short) -> None:
    answer = ask()
    assert answer.outcome == "depends"
    assert answer.ask_next[0].pointer == "/box_kind"
    assert answer.summary.startswith("Ask first what it is out of")
    assert answer.worlds.tried > 1000
    assert len(ask_short().model_dump_json()) <= MOST_BYTES["nothing stated"]
    assert len(answer.model_dump_json()) <= MOST_BYTES["full"]


def test_a_class_is_explained_as_the_full_answer_judges_it(ask, box, base, of) -> None:
    fields = box("bronze", coldest_start_c=-30.0)
    for id in ("gl-4-75w-90", "gl-5-75w-90"):
        explained = compute_lubricant_answer(id, FillQuestion.model_validate(fields), base)
        answer = ask(**fields)
        judged = of(answer, id)
        assert (explained.verdict, explained.rank, explained.figures) == (judged.verdict, judged.rank, judged.figures)
        brief = attrgetter("rule", "effect", "severity", "text", "only_if", "share_of_worlds")
        against = [finding for finding in explained.findings if finding.effect != "supports"]
        assert [*map(brief, against)] == [brief(answer.findings[place]) for place in judged.findings_at]
        assert {one.id for finding in explained.findings for one in finding.sources} == {
            source.id for source in explained.sources
        }


def test_another_question_has_another_answer_id(ask_short, box) -> None:
    assert ask_short(**box("bronze")).answer_id != ask_short(**box("bronze", coldest_start_c=-16.0)).answer_id


def test_shapes_that_were_not_given_are_listed_as_assumed(ask, box) -> None:
    assumed = {item.pointer: item for item in ask(**box("bronze")).question.assumed}
    assert {"/bearing/speed_rpm", "/mesh/torque_nm", "/ring_geometry/detent_force_n"} <= set(assumed)
    given_bearing = ask(**box("bronze", bearing={"pitch_diameter_mm": 60.0, "speed_rpm": 1500.0}))
    assert not [item for item in given_bearing.question.assumed if item.pointer.startswith("/bearing")]


def test_the_sign_of_zero_is_nobody_s_business(base) -> None:
    asked = [FillQuestion(coldest_start_c=value, rings=()) for value in (-0.0, 0.0)]
    minus, plus = (compute_fill_answer(question, base).model_dump_json() for question in asked)
    assert minus == plus
    assert "-0 °C" not in minus


def test_a_caution_that_surely_applies_stands_alone_in_short_and_before_what_may_in_full(ask, ask_short) -> None:
    assert [item.id for item in ask_short().cautions] == ["service-data-missing"]
    texts = {item.id: item.text for item in ask().cautions}
    assert texts["yellow-metal"].startswith("If there is yellow metal in the oil: ")
    assert not texts["service-data-missing"].startswith("If")


def test_what_goes_with_every_fill_stands_apart_from_what_belongs_to_this_box(ask_short, base) -> None:
    answer = ask_short()
    assert {"hot-oil-burns", "supporting-the-vehicle"} <= set(answer.every_fill)
    assert set(answer.every_fill) == {row.id for row in base.cautions.values() if "always" in row.when}
    assert not set(answer.every_fill) & {item.id for item in answer.cautions}
    assert len(answer.every_fill_words.split()) <= 25


def test_no_caution_claims_of_the_box_what_nobody_said(base) -> None:
    """Each text has to be true of a box of which nothing is known: it speaks of what would be, or tells what to do."""
    for row in base.cautions.values():
        if "always" not in row.when:
            assert not any(claim in row.text for claim in ("this oil", "These rings", "This box has")), row.id


@pytest.mark.parametrize(("unstated", "figure"), [("sump_hot_c", "kv_hot_mm2_s"), ("coldest_start_c", "kv_cold_mm2_s")])
def test_a_viscosity_rests_on_the_temperature_that_nobody_stated(ask, box, unstated, figure) -> None:
    stated, assumed = ask(**box("bronze")), ask(**box("bronze", **{unstated: None}))
    of_stated, of_assumed = (
        {found.rests_on for item in answer.candidates if (found := getattr(item.figures, figure))}
        for answer in (stated, assumed)
    )
    assert "judgement" not in of_stated
    assert of_assumed == {"judgement"}


MTF = {"family": "mtf", "grade": "75W-80"}
RING = {"facing": "bronze", "fluid_named": MTF}
LEADS_BY = {  # common practice, no source: the book, the seller of the rings, heat and hard cold come before custom
    "service-data": ("bronze", {"service_data": MTF}),
    "ring-maker": ("bronze", {"rings": [RING]}),
    "custom": ("bronze", {"coldest_start_c": 5.0}),
    "heat": ("paper", {"sump_hot_c": 140.0}),
    "cold": ("bronze", {"coldest_start_c": -40.0, "condition": "worn"}),
}


@pytest.mark.parametrize(("facing", "changes", "by"), [(*case, by) for by, case in LEADS_BY.items()], ids=LEADS_BY)
def test_the_leader_says_what_put_it_first(ask_short, box, facing, changes, by) -> None:
    leader = ask_short(**box(facing, **changes)).leader
    assert leader.leads_by == by
    assert leader.because.count(". ") == 0


def test_a_thin_fluid_in_frost_is_not_told_as_hard_for_the_few_rings_of_three_cones(ask_short, box) -> None:
    """75W-80 shifts freely to about -25 °C: common practice, no source. On a rig cold oil troubles several cones."""
    asked = box("paper", coldest_start_c=-20)
    asked["rings"] = [{"facing": "paper"}]
    told = ask_short(**asked)
    assert told.leader.first_shifts.step != "hard"
    assert "hard" not in told.say


def test_an_oil_of_another_kind_in_the_box_comes_out_before_the_new_one_goes_in(ask_short, box) -> None:
    """What is left of axle oil goes on eating bronze: common practice, no source."""
    axle, same = ({"label": {"family": family, "grade": "75W-90"}} for family in ("gl-5", "gl-4"))
    changed, topped = (ask_short(**box("bronze", in_it_now=now)) for now in (axle, same))
    assert "GL-5 in it comes out first" in changed.say
    assert "comes out" not in topped.say
    assert "leftover-fluid" in {caution.id for caution in changed.cautions}
    assert "leftover-fluid" not in {caution.id for caution in topped.cautions}


def test_the_leader_says_how_the_first_shifts_go(ask_short, box) -> None:
    steps = [
        ("free", "slow", "hard").index(ask_short(**box("bronze", coldest_start_c=cold)).leader.first_shifts.step)
        for cold in (30.0, 0.0, -20.0, -35.0)
    ]
    assert steps == sorted(steps)
    assert steps[0] == 0
    assert steps[-1] == 2
    assert ask_short(**box(None)).leader.first_shifts is None


def test_what_rests_on_judgement_is_shown_with_two_digits(ask_short, box) -> None:
    figures = ask_short(**box("bronze")).leader.figures
    for name, figure in figures.items():
        if figure.rests_on == "judgement" and not name.endswith("_c"):
            ends = [value for value in (figure.min, figure.max) if value is not None]
            assert ends == [float(f"{value:.2g}") for value in ends]
    assert figures["shifts_freely_above_c"].min % 5 == 0
    assert figures["kv_hot_mm2_s"].at_c == 90.0


def test_the_line_to_fill_names_the_kinds_that_are_as_good(ask_short, box) -> None:
    answer = ask_short(**box("bronze", coldest_start_c=5.0))
    assert answer.summary == "Fill GL-4 or MTF, 75W-90. Check the book first."
    assert answer.leader.alike == ("mtf-75w-90",)
    assert answer.window.on_the_label[0] == "GL-4 or MTF"
    assert "No GL-5: it eats the bronze rings." in answer.say


def test_what_the_book_names_with_care_is_told_with_that_care_in_one_voice(ask_short, box) -> None:
    answer = ask_short(**box("bronze", service_data={"family": "gl-5", "grade": "75W-90"}))
    assert answer.summary.startswith("Fill GL-5 75W-90, with care: the book names it.")
    assert "copper strip of 2a or better" in answer.say
    assert answer.window.copper_strip_max == "2a"
    assert "No GL-5:" not in answer.say
