"""A jug by itself: its grades, its curve, and its verdict by the same rules as a class."""

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from knowledge.base import KnowledgeBase
from knowledge.errors import UnknownIds
from knowledge.fill import fill_answer
from knowledge.jug import jug_answer
from knowledge.jug_models import JugAnswer, JugQuestion
from knowledge.physics.viscosity import kinematic_viscosity_mm2_s, viscosity_line
from knowledge.questions import FillQuestion

LAW = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
FROM_BEST = ("fits", "fits-with-care", "depends", "does-not-fit")
FULL = {
    "label": {"family": "gl-4", "grade": "75W-90"},
    "kv40_mm2_s": 95,
    "kv100_mm2_s": 15.2,
    "t150_c": -41,
    "copper_strip": {"rating": "1b", "temperature_c": 121, "hours": 3},
    "density15_kg_m3": 870,
}


@pytest.fixture(scope="session")
def read(base: KnowledgeBase) -> Callable[..., JugAnswer]:
    """Asks about a jug given by its fields."""
    return lambda **fields: jug_answer(JugQuestion.model_validate(fields), base)


def pointers(answer: JugAnswer) -> list[str]:
    """The missing lines that would decide."""
    return [item.pointer for item in answer.would_decide]


# Published tables: SAE J306 (2019 and 2005) and SAE J300, as retyped in the fact sheet's cases 1 to 20.
@pytest.mark.parametrize(
    ("kv100", "t150", "sheared", "in_2019", "in_2005"),
    [
        (14.5, -41, None, "75W-90", "75W-90"),
        (14.5, -30, None, "80W-90", "80W-90"),
        (26.0, -14, None, "85W-140", "85W-140"),
        (7.8, -45, None, "75W-75", "75W-80"),
        (7.5, -30, None, "75", "80W-80"),
        (8.49, None, None, "75", "80"),
        (8.50, None, None, "80", "80"),
        (13.49, None, None, "85", "85"),
        (13.50, None, None, "90", "90"),
        (24.0, None, None, "140", "140"),
        (3.79, None, None, None, None),
        (9.3, -42, 8.3, "75W", "75W-80"),
    ],
)
def test_a_grade_is_told_in_both_editions(read, kv100, t150, sheared, in_2019, in_2005) -> None:
    answer = read(kv100_mm2_s=kv100, t150_c=t150, kv100_sheared_mm2_s=sheared)
    assert answer.j306 == {"2019": in_2019, "2005": in_2005}


@pytest.mark.parametrize(
    ("kv100", "grades"),
    [(9.29, ("20",)), (9.3, ("30",)), (12.5, ("40",)), (16.3, ("50",)), (7.0, ("12", "16", "20")), (3.0, ())],
)
def test_every_engine_grade_that_kv100_allows_is_told(read, kv100, grades) -> None:
    assert read(kv100_mm2_s=kv100).j300 == grades


@pytest.mark.parametrize(("kv40", "grade"), [(35.2, "32"), (35.3, None), (41.4, "46")])
def test_the_iso_grade_is_told(read, kv40, grade) -> None:
    assert read(kv40_mm2_s=kv40).iso_vg == grade


# ASTM D2270 examples A and B, as printed.
@pytest.mark.parametrize(("kv40", "kv100", "index"), [(73.30, 8.86, 92), (22.83, 5.05, 156)])
def test_the_viscosity_index_is_the_published_one(read, kv40, kv100, index) -> None:
    assert read(kv40_mm2_s=kv40, kv100_mm2_s=kv100).viscosity_index == index


def test_below_two_there_is_no_viscosity_index_and_the_answer_says_why(read) -> None:
    answer = read(kv40_mm2_s=5, kv100_mm2_s=1.99)
    assert answer.viscosity_index is None
    assert "below 2" in answer.viscosity_index_reason


def test_no_w_grade_is_ever_made_from_warm_figures(read) -> None:
    assert read(kv40_mm2_s=64, kv100_mm2_s=11.8).j306 == {"2019": "85", "2005": "85"}


def test_the_curve_passes_through_what_was_measured_and_marks_what_is_extrapolated(read) -> None:
    answer = read(**FULL)
    curve = {point.temperature_c: point for point in answer.curve}
    assert curve[40].kv_mm2_s == pytest.approx(95, rel=1e-3)
    assert curve[100].kv_mm2_s == pytest.approx(15.2, rel=1e-3)
    assert all(point.screening == (celsius < 0) for celsius, point in curve.items())
    assert curve[100].viscosity_mpa_s == pytest.approx(15.2 * 0.816, rel=0.01)
    line = viscosity_line(kv40_mm2_s=95, kv100_mm2_s=15.2)
    assert curve[80].kv_mm2_s == pytest.approx(kinematic_viscosity_mm2_s(line=line, temperature_c=80), rel=1e-3)


def test_the_coldest_point_that_is_thin_enough_counts_and_a_bracket_is_said_to_be_one(read) -> None:
    points = [{"temperature_c": -40, "viscosity_mpa_s": 110_000}, {"temperature_c": -26, "viscosity_mpa_s": 9_000}]
    answer = read(kv100_mm2_s=15.2, brookfield=points)
    assert answer.cold_limit.temperature_c == -40
    assert answer.j306["2019"] == "75W-90"
    bracket = read(kv100_mm2_s=15.2, brookfield=[*points, {"temperature_c": -44, "viscosity_mpa_s": 300_000}])
    assert -44 < bracket.cold_limit.temperature_c < -40
    assert "Between the measured points" in bracket.cold_limit.basis
    assert bracket.j306["2019"] == "75W-90"


def test_no_w_grade_rests_on_a_figure_between_two_points(read) -> None:
    points = [{"temperature_c": -38, "viscosity_mpa_s": 90_000}, {"temperature_c": -44, "viscosity_mpa_s": 200_000}]
    answer = read(kv100_mm2_s=15.2, brookfield=points)
    assert answer.cold_limit.temperature_c < -40
    assert answer.j306["2019"] == "80W-90"


def test_the_nearest_classes_are_those_whose_band_holds_the_figures(read) -> None:
    answer = read(**FULL)
    assert answer.nearest_classes[0].lubricant.id == "gl-4-75w-90"
    assert answer.nearest_classes[0].inside
    assert not answer.nearest_classes[-1].inside and answer.nearest_classes[-1].off


def test_what_label_and_sheet_leave_open_is_listed(read) -> None:
    answer = read(label={"family": "gl-4"}, kv100_mm2_s=15.0)
    assert {item.id for item in answer.may_be} == {"gl-4-75w-90", "gl-4-80w-90", "gl-4-85w-90"}


def test_without_a_box_there_is_no_verdict(read) -> None:
    answer = read(**FULL)
    assert answer.verdict is None
    assert answer.findings == answer.would_decide == ()


@LAW
@given(data=st.data())
def test_a_jug_of_a_class_gets_the_verdict_of_that_class(data, stated_questions, base, ask, of, read) -> None:
    oil = data.draw(st.sampled_from(base.oils))
    box = data.draw(stated_questions)
    jug = {"label": {"family": oil.family.id, "grade": oil.grade}}
    if data.draw(st.booleans()):
        strip = oil.copper_strip
        jug |= {"t150_c": oil.cold_limit_c, "density15_kg_m3": oil.density15_kg_m3, "limited_slip": oil.limited_slip}
        jug |= {"copper_strip": {**strip.model_dump(), "hours": 3}} if strip else {}
    answer = read(**jug, question=box)
    candidate = of(ask(**box), oil.id)
    assert answer.verdict == candidate.verdict
    assert [(item.rule, item.effect) for item in answer.findings] == [
        (item.rule, item.effect) for item in candidate.findings
    ]


@LAW
@given(data=st.data())
def test_the_jugs_at_the_corners_of_a_class_span_its_verdict(data, stated_questions, base, ask, of, read) -> None:
    """A class fits where each corner fits; the upper edge of its KV100 belongs to the next grade, so stay below it."""
    oil = data.draw(st.sampled_from(base.oils))
    box = data.draw(stated_questions)
    label = {"family": oil.family.id, "grade": oil.grade}
    verdicts = {
        read(
            label=label,
            kv40_mm2_s=corner.kv40_mm2_s,
            kv100_mm2_s=min(corner.kv100_mm2_s, oil.kv100_max_mm2_s * 0.99999),
            t150_c=oil.cold_limit_c,
            question=box,
        ).verdict
        for corner in oil.corners
    }
    of_class = of(ask(**box), oil.id).verdict
    if of_class == "fits":
        assert verdicts == {"fits"}
    if of_class == "does-not-fit":
        assert verdicts == {"does-not-fit"}
    if of_class == "fits-with-care":
        assert verdicts - {"fits"}


@LAW
@given(data=st.data())
def test_a_jug_of_which_less_is_known_is_open_or_judged_alike(data, stated_questions, base, read) -> None:
    """Leaving figures out never turns a jug that is refused into one that fits."""
    oil = data.draw(st.sampled_from(base.oils))
    corner = data.draw(st.sampled_from(oil.corners))
    box = data.draw(stated_questions)
    known = {
        "label": {"family": oil.family.id},
        "kv40_mm2_s": corner.kv40_mm2_s,
        "kv100_mm2_s": corner.kv100_mm2_s,
        "t150_c": oil.cold_limit_c,
    }
    verdict = read(**known, question=box).verdict
    for line in ("kv40_mm2_s", "label"):
        less = read(**{name: value for name, value in known.items() if name != line}, question=box).verdict
        if verdict == "does-not-fit":
            assert less not in ("fits",)
        if less == "does-not-fit":
            assert verdict == "does-not-fit"


def test_a_good_copper_strip_turns_the_refusal_of_gl_5_beside_bronze_into_care(read, box) -> None:
    jug = {"label": {"family": "gl-5", "grade": "80W-90"}}
    bronze = box("bronze")
    refused = read(**jug, question=bronze)
    assert refused.verdict == "does-not-fit"
    assert pointers(refused) == ["/copper_strip"]
    for rating in ("1a", "1b", "2a"):
        strip = {"rating": rating, "temperature_c": 121, "hours": 3}
        assert read(**jug, copper_strip=strip, question=bronze).verdict == "fits-with-care"


@pytest.mark.parametrize(
    "strip",
    [
        {"rating": "1a"},
        {"rating": "1a", "temperature_c": 121},
        {"rating": "1a", "hours": 3},
        {"rating": "1a", "temperature_c": 100, "hours": 3},
        {"rating": "1a", "temperature_c": 121, "hours": 1},
        {"rating": "2b", "temperature_c": 121, "hours": 3},
    ],
)
def test_a_strip_that_is_cool_short_or_dark_proves_nothing(read, box, strip) -> None:
    jug = {"label": {"family": "gl-5", "grade": "80W-90"}, "copper_strip": strip}
    assert read(**jug, question=box("bronze")).verdict == "does-not-fit"


def test_a_dark_strip_counts_against_an_oil_that_its_category_allows(read, box) -> None:
    jug = {"label": {"family": "mt-1", "grade": "80W-90"}}
    yellow = box(None, yellow_metal=True)
    assert read(**jug, question=yellow).verdict == "fits-with-care"
    assert read(**jug, copper_strip={"rating": "4a"}, question=yellow).verdict == "does-not-fit"


def test_a_measured_figure_beats_the_band_of_the_label(read, box) -> None:
    paper = box("paper", coldest_start_c=0.0)
    label = {"family": "gl-4", "grade": "75W-90"}
    assert read(label=label, question=paper).verdict == "does-not-fit"
    assert read(label=label, kv100_mm2_s=12.4, kv40_mm2_s=70, question=paper).verdict == "fits-with-care"


@pytest.mark.parametrize(("t150", "verdict"), [(-41, "fits"), (-16, "fits"), (-14, "does-not-fit")])
def test_a_measured_cold_limit_beats_the_w_of_the_label(read, box, t150, verdict) -> None:
    jug = {"label": {"family": "gl-4", "grade": "75W-90"}, "kv40_mm2_s": 95, "kv100_mm2_s": 15.2, "t150_c": t150}
    assert read(**jug, question=box("bronze", coldest_start_c=-15.0)).verdict == verdict


def test_an_oil_that_was_found_too_thick_does_not_flow_there(read, box) -> None:
    jug = {"label": {"family": "gl-4", "grade": "75W-90"}, "kv40_mm2_s": 95, "kv100_mm2_s": 15.2}
    points = [{"temperature_c": -26, "viscosity_mpa_s": 200_000}]
    cold = read(**jug, brookfield=points, question=box("bronze", coldest_start_c=-30.0))
    assert cold.verdict == "does-not-fit"
    between = read(**jug, brookfield=points, question=box("bronze", coldest_start_c=-15.0))
    assert between.verdict == "depends"
    assert pointers(between) == ["/t150_c"]


def test_a_family_left_open_is_every_family(read, box) -> None:
    answer = read(kv40_mm2_s=70, kv100_mm2_s=12.4, t150_c=-41, question=box("bronze"))
    assert answer.verdict == "depends"
    assert "/label/family" in pointers(answer)
    assert {"gl-4", "gl-5", "mtf"} <= {item.family for item in answer.may_be}


def test_a_refusal_that_no_line_can_lift_asks_for_none(read, box) -> None:
    answer = read(label={"family": "gl-5", "grade": "80W-90"}, question=box("paper"))
    assert answer.verdict == "does-not-fit"
    assert answer.would_decide == ()


def trials(pointer: str, base: KnowledgeBase) -> list[dict[str, Any]]:
    """What a data sheet could say in a missing line, from one end of the tables to the other."""
    if pointer == "/copper_strip":
        return [{"copper_strip": {"rating": rating, "temperature_c": 121, "hours": 3}} for rating in ("1a", "4a")]
    if pointer == "/limited_slip":
        return [{"limited_slip": True}, {"limited_slip": False}]
    if pointer == "/label/family":
        return [{"label": {"family": family}} for family in base.families]
    values = {"/t150_c": (-60, 50), "/kv100_mm2_s": (3, 6, 9, 12, 20, 44), "/kv40_mm2_s": (20, 40, 80, 160, 320, 900)}
    return [{pointer.strip("/"): value} for value in values[pointer]]


def read_or_none(read: Callable[..., JugAnswer], **fields: Any) -> str | None:
    """The verdict, None where the figures contradict each other."""
    kv40, kv100 = fields.get("kv40_mm2_s"), fields.get("kv100_mm2_s")
    return None if kv40 and kv100 and kv100 >= kv40 else read(**fields).verdict


@LAW
@given(data=st.data())
def test_a_line_that_would_decide_has_a_value_that_changes_the_verdict(data, stated_questions, base, read) -> None:
    oil = data.draw(st.sampled_from(base.oils))
    jug = data.draw(
        st.sampled_from(
            (
                {"label": {"family": oil.family.id, "grade": oil.grade}},
                {"label": {"family": oil.family.id}},
                {"label": {"family": oil.family.id}, "kv100_mm2_s": oil.kv100_min_mm2_s},
                {"kv100_mm2_s": oil.kv100_min_mm2_s, "t150_c": oil.cold_limit_c},
            )
        )
    )
    box = data.draw(stated_questions)
    answer = read(**jug, question=box)
    if len(pointers(answer)) == 1:  # of several lines, each may settle its own rule and leave another open
        (pointer,) = pointers(answer)
        verdicts = {read_or_none(read, **{**jug, **trial}, question=box) for trial in trials(pointer, base)}
        assert verdicts - {answer.verdict, None}


def test_a_jug_at_hand_is_judged_alike_in_the_fill_answer(base, box, read) -> None:
    jugs = [FULL, {"name": "Blank"}, {"label": {"family": "gl-5"}, "name": "Axle"}]
    answer = fill_answer(FillQuestion.model_validate({**box("bronze"), "on_hand": jugs}), base)
    assert [jug.name for jug in answer.jugs] == ["Jug 1", "Blank", "Axle"]
    for fields, jug in zip(jugs, answer.jugs, strict=True):
        alone = read(**fields, question=box("bronze"))
        assert (jug.verdict, jug.findings, jug.would_decide) == (alone.verdict, alone.findings, alone.would_decide)
    assert answer.jugs[0].rank == 1
    cited = {cited.id for jug in answer.jugs for item in (*jug.findings, *jug.label_findings) for cited in item.sources}
    assert cited <= {source.id for source in answer.sources}


def test_the_jugs_are_ranked_as_the_classes_are(base, box) -> None:
    bronze = box("bronze")
    order = [item for item in fill_answer(FillQuestion.model_validate(bronze), base).candidates if item.rank]
    jugs = [
        {"name": item.lubricant.id, "label": {"family": item.lubricant.family, "grade": item.lubricant.grade}}
        for item in reversed(order)
    ]
    answer = fill_answer(FillQuestion.model_validate({**bronze, "on_hand": jugs}), base)
    best = [jug.verdict for jug in sorted(answer.jugs, key=lambda jug: jug.rank)]
    assert best == sorted(best, key=FROM_BEST.index)


def test_the_same_jug_and_knowledge_have_the_same_id(read) -> None:
    assert read(**FULL).answer_id == read(**FULL).answer_id
    assert read(**FULL).answer_id != read(**{**FULL, "t150_c": -42}).answer_id


@pytest.mark.parametrize(
    ("fields", "pointer"),
    [
        ({"label": {"family": "gl-45"}}, "/label/family"),
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
    grades = sorted({oil.grade for oil in base.oils}) + [
        "75W-110",
        "250",
        "75W",
        "SAE 10w 30",
        "85W-75",
        "VG 150",
        "90W",
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


@settings(LAW, max_examples=400)
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
        assert value is None
    if answer.verdict == "fits":
        assert all(item.effect == "supports" for item in answer.findings)
    answer.model_dump_json()
