"""The jug answer as a whole: jugs at hand, ids, and every jug that can be asked about."""

from operator import attrgetter
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.errors import UnknownIds
from knowledge.fill.compute import compute_fill_answer
from knowledge.jug.answer import JugAnswer
from knowledge.jug.compute import compute_jug_answer
from knowledge.jug.question import JugQuestion
from tests.knowledge.law import law

FUZZ = law(50)
FROM_BEST = ("fits", "fits-with-care", "depends", "does-not-fit")
FULL = {
    "label": {"family": "gl-4", "grade": "75W-90"},
    "kv40_mm2_s": 95,
    "kv100_mm2_s": 15.2,
    "t150_c": -41,
    "copper_strip": {"rating": "1b", "temperature_c": 121, "hours": 3},
    "density15_kg_m3": 870,
}


def test_a_jug_at_hand_is_judged_alike_in_the_fill_answer(base, box, read) -> None:
    jugs = [FULL, {"name": "Blank"}, {"label": {"family": "gl-5"}, "name": "Axle"}]
    answer = compute_fill_answer(FillQuestion.model_validate({**box("bronze"), "on_hand": jugs}), base, detail="full")
    assert [jug.name for jug in answer.jugs] == ["Jug 1", "Blank", "Axle"]
    for fields, jug in zip(jugs, answer.jugs, strict=True):
        alone = read(**fields, question=box("bronze"))
        held = attrgetter("rule", "effect", "severity", "text", "about", "margin", "only_if", "share_of_worlds")
        against = [held(finding) for finding in alone.findings if finding.sources and finding.effect != "supports"]
        assert [held(answer.findings[place]) for place in jug.findings_at] == against
        assert (jug.verdict, jug.would_decide) == (alone.verdict, alone.would_decide)
        cited = {cited.id for item in (*alone.findings, *jug.label_findings) for cited in item.sources}
        assert cited <= {source.id for source in answer.sources}
    assert answer.jugs[0].rank == 1


@pytest.mark.parametrize("facing", [None, "bronze"])
def test_what_the_summary_says_to_ask_is_what_is_asked(read, box, facing) -> None:
    """A dual label is a doubt about the jug, and no line of its sheet settles it once the strip is known."""
    jug = {**FULL, "label": {"family": "gl-4-gl-5", "grade": "75W-90"}}
    answer = read(**jug, question=box(facing)) if facing else read(**jug)
    assert answer.ask_of_the_sheet == ()
    assert "ask" not in answer.summary
    assert "1 doubt about label or sheet" in answer.summary


def test_a_strip_that_proves_the_oil_is_not_asked_for_again(read, box) -> None:
    jug = {**FULL, "label": {"family": "gl-4-gl-5", "grade": "75W-90"}}
    proven = read(**jug, question=box("bronze"))
    open_ = read(**{**jug, "copper_strip": None}, question=box("bronze"))
    said = ["or better" in " ".join((one.say, *one.care, *(it.text for it in one.findings))) for one in (proven, open_)]
    assert said == [False, True]


def test_the_jugs_are_ranked_as_the_classes_are(base, box) -> None:
    bronze = box("bronze")
    order = [
        item
        for item in compute_fill_answer(FillQuestion.model_validate(bronze), base, detail="full").candidates
        if item.rank
    ]
    jugs = [
        {"name": item.lubricant.id, "label": {"family": item.lubricant.family, "grade": item.lubricant.grade}}
        for item in reversed(order)
    ]
    answer = compute_fill_answer(FillQuestion.model_validate({**bronze, "on_hand": jugs}), base, detail="full")
    best = [jug.verdict for jug in sorted(answer.jugs, key=lambda jug: jug.rank)]
    assert best == sorted(best, key=FROM_BEST.index)


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({}, "Without KV100 it has no gear-oil grade; no label to hold it against."),
        ({"kv100_mm2_s": 15.2}, "By its figures 90 (SAE J306, 2019); no label to hold it against."),
        (
            {"label": {"family": "gl-4"}},
            "Judged by its label alone, without a figure; ask for the data sheet.",
        ),
    ],
)
def test_the_summary_claims_no_more_than_is_known(read, fields, told) -> None:
    assert read(**fields).summary == told


def test_a_grade_measured_no_colder_than_it_was_is_told_as_that_or_a_colder_one(read) -> None:
    """SAE J306: an 80W flows at -26 °C, a 75W at -40 °C; a figure at -30 °C proves the first and denies no other."""
    jug = {"label": {"family": "gl-4", "grade": "75W-90"}, "kv100_mm2_s": 15.2}
    measured = read(**jug, brookfield=[{"temperature_c": -30, "viscosity_mpa_s": 60000}])
    assert measured.summary.startswith("By its figures 80W-90 or a colder W grade (")
    assert read(**jug, t150_c=-30).summary.startswith("By its figures 80W-90 (")


def test_a_jug_that_nothing_known_can_be_is_open_in_any_box(read, box) -> None:
    """No oil has 2 m²/s at 100 °C; the missing viscosity may show which figure was mistyped."""
    for asked in (box("bronze"), {}):
        answer = read(kv100_mm2_s=2e6, question=asked)
        assert (answer.verdict, answer.may_be) == ("depends", ())
        assert answer.because == "Nothing that is known here can be this jug."
        assert answer.ask_of_the_sheet == ("Kinematic viscosity at 40 °C (KV40)",)


def test_what_is_held_against_some_of_what_a_jug_may_be_names_it(read, box) -> None:
    answer = read(kv40_mm2_s=34, kv100_mm2_s=7.3, question=box("paper"))
    assert answer.because == "If it is GL-1: plain oil leaves the friction of a paper lining to chance."
    assert answer.care[1].startswith("If it is GL-5, GL-5 limited-slip, Dual GL-4/GL-5 or MT-1: ")


def test_the_same_jug_and_knowledge_have_the_same_id(read) -> None:
    assert read(**FULL).answer_id == read(**FULL).answer_id
    assert read(**FULL).answer_id != read(**{**FULL, "t150_c": -42}).answer_id


@pytest.mark.parametrize(
    ("fields", "pointer"),
    [
        ({"label": {"family": "gl-46"}}, "/label/family"),
        ({"copper_strip": {"rating": "1c"}}, "/copper_strip/rating"),
        ({"question": {"rings": [{"facing": "papr"}]}}, "/question/rings/0/facing"),
        ({"question": {"box_ref": "nowhere"}}, "/question/box_ref"),
    ],
)
def test_an_unknown_id_is_told_with_its_place(read, fields, pointer) -> None:
    with pytest.raises(UnknownIds) as caught:
        read(**fields)
    assert [item.pointer for item in caught.value.items] == [pointer]


def edged(low: float, high: float) -> st.SearchStrategy[float | None]:
    """A number of a range, its ends often, or nothing."""
    return st.none() | st.floats(low, high) | st.sampled_from((low, high))


viscosity = st.none() | st.floats(0.3, 2e6) | st.floats(2, 60) | st.sampled_from((0.3, 1.9984, 2.0, 2.0001, 2e6))


@pytest.fixture(scope="session")
def any_jugs(base: KnowledgeBase) -> st.SearchStrategy[dict[str, Any]]:
    """Jugs over the whole range of every field."""
    grades = [
        *sorted({oil.grade for oil in base.lubricants}),
        "75W-110",
        "250",
        "75W",
        "SAE 10w 30",
        "85W-90/85W-140",
        "VG 150",
    ]
    point = st.fixed_dictionaries(
        {"temperature_c": st.floats(-60, 200), "viscosity_mpa_s": st.floats(1e-3, 1e7) | st.just(150_000.0)}
    )
    strip = st.fixed_dictionaries(
        {
            "rating": st.sampled_from(sorted(base.copper_strip)),
            "temperature_c": edged(-60, 200),
            "hours": edged(0.01, 1000),
        }
    )
    label = st.fixed_dictionaries(
        {"family": st.none() | st.sampled_from(sorted(base.families)), "grade": st.none() | st.sampled_from(grades)}
    )
    return st.fixed_dictionaries(
        {
            "label": st.none() | label,
            "kv40_mm2_s": viscosity,
            "kv100_mm2_s": viscosity,
            "kv100_sheared_mm2_s": viscosity,
            "t150_c": edged(-60, 200),
            "brookfield": st.lists(point, max_size=4),
            "copper_strip": st.none() | strip,
            "density15_kg_m3": edged(700, 1200),
            "limited_slip": st.none() | st.booleans(),
        }
    ).filter(lambda jug: None in (jug["kv40_mm2_s"], jug["kv100_mm2_s"]) or jug["kv40_mm2_s"] > jug["kv100_mm2_s"])


def is_too_mild(strip: dict[str, Any]) -> bool:
    """Whether a strip lay cooler or shorter than in the test of gear oils: 3 h at 121 °C (ASTM D7450)."""
    return (strip["temperature_c"] or 0) < 121 or (strip["hours"] or 3) < 3


@FUZZ
@given(data=st.data())
def test_any_jug_gets_an_answer_in_any_box(data, any_jugs, stated_questions, base, read) -> None:
    jug = data.draw(any_jugs)
    box = data.draw(st.none() | st.just({}) | stated_questions)
    answer = read(**jug, question=box)
    assert (answer.verdict is None) == (box is None)
    assert len(answer.summary) <= 140
    speaking = (*answer.label_findings, *answer.findings, *answer.cautions)
    assert {cited.id for item in speaking for cited in item.sources} <= {source.id for source in answer.sources}
    assert all(item.sources for item in answer.label_findings)
    for item in answer.would_decide:
        value: Any = jug
        for name in item.pointer.strip("/").split("/"):
            value = (value or {}).get(name)
        assert value is None or (item.pointer == "/copper_strip" and is_too_mild(value))
    if answer.verdict == "fits":
        assert all(item.effect == "supports" for item in answer.findings)
    answer.model_dump_json()
    short = compute_jug_answer(JugQuestion.model_validate({**jug, "question": box}), base)
    assert len(short.say.split()) <= 40
    notes = ("label_findings", "cautions")
    assert short.model_dump(exclude=set(notes)) == answer.model_dump(include=set(JugAnswer.model_fields) - set(notes))
    for name in notes:
        assert {item.text for item in getattr(short, name)} <= {part.text for part in getattr(answer, name)} | {
            part.in_full for part in getattr(answer, name)
        }


def test_a_jug_without_a_label_is_not_to_be_filled_from(read) -> None:
    for unlabelled in ({}, {"name": "the jug on the left"}, {"kv100_mm2_s": 14.0}, {"label": {}}):
        assert "unlabelled-jug" in {caution.id for caution in read(**unlabelled).cautions}
    assert "unlabelled-jug" not in {caution.id for caution in read(label={"family": "mtf"}).cautions}


def test_a_viscosity_index_beside_its_class_is_not_inside(read) -> None:
    """KV100 13.6 with KV40 230 has a viscosity index of 34 by ASTM D2270; a GL-1 90 has 85 to 98."""
    near = read(label={"family": "gl-1", "grade": "90"}, kv40_mm2_s=230, kv100_mm2_s=13.6).nearest_classes[0]
    assert (near.lubricant.id, near.inside) == ("gl-1-90", False)
    near = read(label={"family": "gl-1", "grade": "90"}, kv40_mm2_s=160, kv100_mm2_s=14.5).nearest_classes[0]
    assert (near.lubricant.id, near.inside) == ("gl-1-90", True)
