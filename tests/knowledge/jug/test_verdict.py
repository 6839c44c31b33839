"""A jug gets its verdict by the same rules as a class, from its own numbers."""

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.fill.compute import compute_lubricant_answer
from knowledge.jug.answer import FullJugAnswer, JugAnswer
from knowledge.jug.compute import compute_jug_answer
from knowledge.jug.question import JugQuestion
from tests.knowledge.law import law

LAW = law(30)
STIFF = "Stiff at "


@pytest.fixture(scope="module")
def judge(base) -> Callable[..., JugAnswer]:
    """Asks for the short answer about a jug given by its fields, which makes nothing that is not shown."""
    return lambda **fields: compute_jug_answer(JugQuestion.model_validate(fields), base)


def pointers(answer: FullJugAnswer) -> list[str]:
    """The missing lines that would decide."""
    return [item.pointer for item in answer.would_decide]


@LAW
@given(data=st.data())
def test_a_jug_of_a_class_gets_the_verdict_of_that_class(data, stated_questions, base, ask, of, read) -> None:
    oil = data.draw(st.sampled_from(base.lubricants))
    box = data.draw(stated_questions)
    jug = {"label": {"family": oil.family.id, "grade": oil.grade}}
    if data.draw(st.booleans()):
        strip = oil.copper_strip
        jug |= {"t150_c": oil.cold_limit_c, "density15_kg_m3": oil.density15_kg_m3, "limited_slip": oil.limited_slip}
        # What a category still allows is no strip of a jug: one as dark is refused beside copper.
        is_clean = strip and base.copper_rank(strip.rating) <= base.copper_rank(base.copper_strip_wanted)
        jug |= {"copper_strip": {**strip.model_dump(), "hours": 3}} if is_clean else {}
    answer = read(**jug, question=box)
    candidate = of(ask(**box), oil.id)
    # That it is stiffer than what leads is told of a jug only: of a class where it stands says so.
    is_stiff = any(text.startswith(STIFF) for text in answer.care)
    assert answer.verdict == candidate.verdict or (is_stiff and answer.verdict == "fits-with-care")
    assert [(item.rule, item.effect) for item in answer.findings if item.sources] == [
        (item.rule, item.effect)
        for item in compute_lubricant_answer(oil.id, FillQuestion.model_validate(box), base).findings
    ]


@LAW
@given(data=st.data())
def test_the_jugs_at_the_corners_of_a_class_span_its_verdict(data, stated_questions, base, ask, of, judge) -> None:
    """A class fits where each corner fits; the upper edge of its KV100 belongs to the next grade, so stay below it."""
    oil = data.draw(st.sampled_from(base.lubricants))
    box = data.draw(stated_questions)
    label = {"family": oil.family.id, "grade": oil.grade}
    verdicts = {
        judge(
            label=label,
            kv40_mm2_s=corner.kv40_mm2_s,
            kv100_mm2_s=min(corner.kv100_mm2_s, oil.kv100_max_mm2_s * 0.99999),
            t150_c=oil.cold_limit_c,
            question=box,
        ).verdict
        for corner in oil.corners
    }
    of_class = of(ask(**box), oil.id).verdict
    is_stiff = any(text.startswith(STIFF) for text in judge(label=label, question=box).care)
    if of_class == "fits" and not is_stiff:
        assert verdicts == {"fits"}
    if of_class == "does-not-fit":
        assert verdicts == {"does-not-fit"}
    if of_class == "fits-with-care":
        assert verdicts - {"fits"}


@LAW
@given(data=st.data())
def test_a_jug_of_which_less_is_known_is_open_or_judged_alike(data, stated_questions, base, judge) -> None:
    """Leaving figures out never turns a jug that is refused into one that fits."""
    oil = data.draw(st.sampled_from(base.lubricants))
    corner = data.draw(st.sampled_from(oil.corners))
    box = data.draw(stated_questions)
    known = {
        "label": {"family": oil.family.id},
        "kv40_mm2_s": corner.kv40_mm2_s,
        "kv100_mm2_s": corner.kv100_mm2_s,
        "t150_c": oil.cold_limit_c,
    }
    verdict = judge(**known, question=box).verdict
    for line in ("kv40_mm2_s", "label"):
        less = judge(**{name: value for name, value in known.items() if name != line}, question=box).verdict
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
    assert read(**jug, question=yellow).verdict == "fits"
    assert read(**jug, copper_strip={"rating": "4a"}, question=yellow).verdict == "does-not-fit"


DARK = "measured-copper-strip-speaks-for-the-jug"
SOUND_GL_4 = {"label": {"family": "gl-4", "grade": "75W-90"}, "kv100_mm2_s": 15, "kv40_mm2_s": 95, "t150_c": -41}


@pytest.mark.parametrize(
    ("strip", "verdict"),
    [
        ({"rating": "2a", "temperature_c": 121, "hours": 3}, "fits"),
        ({"rating": "2c", "temperature_c": 121, "hours": 3}, "fits-with-care"),
        ({"rating": "3a", "temperature_c": 121, "hours": 3}, "does-not-fit"),
        ({"rating": "4c", "temperature_c": 121, "hours": 3}, "does-not-fit"),
        ({"rating": "4c", "temperature_c": 100, "hours": 3}, "does-not-fit"),
        ({"rating": "4c"}, "fits-with-care"),
    ],
)
def test_a_mild_label_does_not_excuse_a_strip_that_came_out_dark(read, box, strip, verdict) -> None:
    """ASTM D130 orders its ratings by how far the copper has gone: 2 is moderate, 3 dark tarnish, 4 corrosion."""
    answer = read(**SOUND_GL_4, copper_strip=strip, question=box("bronze", sump_hot_c=80.0))
    assert answer.verdict == verdict
    assert read(**SOUND_GL_4, copper_strip=strip, question=box("molybdenum", sump_hot_c=80.0)).verdict == "fits"


def test_a_dark_strip_refuses_a_jug_at_hand_though_the_service_data_names_its_kind(ask, box) -> None:
    jug = {**SOUND_GL_4, "copper_strip": {"rating": "4c", "temperature_c": 121, "hours": 3}}
    answer = ask(**box("bronze", on_hand=[jug]))
    assert answer.jugs[0].verdict == "does-not-fit"
    held = [answer.findings[place] for place in answer.jugs[0].findings_at]
    assert next(item for item in held if item.rule == DARK).effect == "excludes"
    named = {"family": "gl-4", "grade": "75W-90"}
    assert ask(**box("bronze", on_hand=[jug], service_data=named)).jugs[0].verdict == "does-not-fit"


def test_no_class_is_judged_by_a_strip_that_nobody_measured(ask, box) -> None:
    rules = {item.rule for item in ask(**box("bronze")).findings}
    assert "full-ep-additives-attack-yellow-metal" in rules
    assert DARK not in rules  # not concerned


def test_a_measured_figure_beats_the_band_of_the_label(read, box) -> None:
    paper = box("paper", coldest_start_c=0.0)
    label = {"family": "gl-4", "grade": "75W-90"}
    assert read(label=label, question=paper).verdict == "does-not-fit"
    assert read(label=label, kv100_mm2_s=12.4, kv40_mm2_s=70, question=paper).verdict == "fits-with-care"


@pytest.mark.parametrize(("t150", "verdict"), [(-41, "fits"), (-16, "fits-with-care"), (-14, "does-not-fit")])
def test_a_measured_cold_limit_beats_the_w_of_the_label(read, box, t150, verdict) -> None:
    """SAE J306: a 75W flows at -40 °C; what does not is no 75W, and the seller has to explain it."""
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


def test_a_refusal_is_said_of_the_oils_that_its_reason_is_about(read, box) -> None:
    """Plain oil is GL-1 by API 1560; limited-slip oil and MT-1 are refused for what they are, and not as plain oil."""
    heard = read(question=box("bronze")).findings
    rings = next(item for item in heard if item.rule == "solid-and-sprayed-rings-take-gl-4-or-dedicated-fluid")
    said, _, others = rings.only_if.partition(" If it is ")
    assert rings.effect == "excludes"
    assert "plain oil" in rings.text.lower()
    assert said == "Only if it is GL-1."
    assert "GL-5 limited-slip: Limited-slip axle oil makes bronze rings slip." in others
    assert "MT-1: MT-1 is not made for bronze rings." in others
    copper = next(item for item in heard if item.rule == "full-ep-additives-attack-yellow-metal")
    assert copper.only_if == "Only if it is GL-5, GL-5 limited-slip or Dual GL-4/GL-5."


def test_a_refusal_that_no_line_can_lift_asks_for_none(read, box) -> None:
    answer = read(label={"family": "gl-5", "grade": "80W-90"}, question=box("paper"))
    assert answer.verdict == "does-not-fit"
    assert answer.would_decide == ()


def trials(pointer: str, label: dict[str, str], base: KnowledgeBase) -> list[dict[str, Any]]:
    """What a data sheet could say in a missing line, from one end of the tables to the other."""
    if pointer == "/copper_strip":
        return [{"copper_strip": {"rating": rating, "temperature_c": 121, "hours": 3}} for rating in ("1a", "4a")]
    if pointer == "/limited_slip":
        return [{"limited_slip": True}, {"limited_slip": False}]
    if pointer == "/label/family":
        return [{"label": {"family": family}} for family in base.families]
    if pointer == "/label/grade":
        return [{"label": {**label, "grade": row.grade}} for row in base.lubricant_rows.values()]
    values = {
        "/t150_c": (-60, -46, -41, -27, -13, 50),
        "/kv100_mm2_s": (3, 4.5, 6, 7, 9, 10, 12, 15, 20, 28, 44),
        "/kv40_mm2_s": (20, 40, 80, 160, 320, 900),
    }
    return [{pointer.strip("/"): value} for value in values[pointer]]


def verdict_or_none(judge: Callable[..., JugAnswer], **fields: Any) -> str | None:
    """The verdict, None where the figures contradict each other."""
    kv40, kv100 = fields.get("kv40_mm2_s"), fields.get("kv100_mm2_s")
    return None if kv40 and kv100 and kv100 >= kv40 else judge(**fields).verdict


@LAW
@given(data=st.data())
def test_a_line_that_would_decide_has_a_value_that_changes_the_verdict(
    data, stated_questions, base, read, judge
) -> None:
    oil = data.draw(st.sampled_from(base.lubricants))
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
        verdicts = {
            verdict_or_none(judge, **{**jug, **trial}, question=box)
            for trial in trials(pointer, jug.get("label", {}), base)
        }
        assert verdicts - {answer.verdict, None}


GL_4 = {"family": "gl-4", "grade": "75W-90"}


def test_an_oil_that_shears_is_judged_hot_by_what_the_test_left_of_it(read, box) -> None:
    towing = box("bronze", sump_hot_c=140.0, duty="towing")
    fresh = {"label": GL_4, "kv40_mm2_s": 80, "kv100_mm2_s": 14.0, "t150_c": -41}
    assert read(**fresh, question=towing).verdict == "fits"
    sheared = read(**fresh, kv100_sheared_mm2_s=9.0, question=towing)
    as_thin = read(label=GL_4, kv40_mm2_s=80 * 9 / 14, kv100_mm2_s=9.0, t150_c=-41, question=towing)
    assert (sheared.verdict, as_thin.verdict) == ("fits-with-care", "fits-with-care")
    ratios = [
        next(item for item in answer.findings if item.rule == "bearings-need-viscosity-when-hot").figures
        for answer in (sheared, as_thin)
    ]
    assert ratios[0] == ratios[1]


@pytest.mark.parametrize(
    ("cold", "coldest", "verdict"),
    [
        # The limit is claimed for -45 °C, and at -40 °C it was found too thick: the worse figure counts.
        ({"t150_c": -45, "brookfield": [(-40, 190_000)]}, -42.0, "does-not-fit"),
        # Thinner at -40 than at -26 °C: two figures of one jug were swapped, so that neither counts.
        ({"brookfield": [(-40, 5_200), (-26, 45_000)]}, -38.0, "depends"),
        # The limit is given for -30 °C, and a point far below it at -40 °C.
        ({"t150_c": -30, "brookfield": [(-40, 90_000)]}, -38.0, "does-not-fit"),
    ],
)
def test_cold_figures_that_contradict_each_other_prove_nothing(read, box, cold, coldest, verdict) -> None:
    points = [{"temperature_c": at, "viscosity_mpa_s": value} for at, value in cold.get("brookfield", ())]
    jug = {"label": GL_4, "kv40_mm2_s": 98, "kv100_mm2_s": 15.1, **cold, "brookfield": points}
    answer = read(**jug, question=box("bronze", coldest_start_c=coldest))
    assert answer.verdict == verdict
    assert "75W" not in answer.j306["2019"]
    told = [item.text for item in answer.label_findings]
    assert any("cannot all be right" in text for text in told)
    assert not any("stands behind" in text or "No measured figure is against" in text for text in told)


def test_a_plain_grade_promises_nothing_in_the_cold(read, box) -> None:
    jug = {"label": {"family": "gl-4", "grade": "90"}, "kv40_mm2_s": 170, "kv100_mm2_s": 15.5}
    frost = read(**jug, question=box("bronze", coldest_start_c=-10.0))
    assert frost.verdict == "depends"
    assert pointers(frost) == ["/t150_c"]
    assert read(**jug, question=box("bronze", coldest_start_c=5.0)).verdict in ("fits", "fits-with-care")


def test_a_jug_far_thicker_than_its_label_is_not_trusted_in_the_cold(read, box) -> None:
    """As if somebody had copied figures of another unit."""
    jug = {"label": {"family": "gl-4", "grade": "80W-90"}, "kv40_mm2_s": 700, "kv100_mm2_s": 80}
    answer = read(**jug, question=box("bronze", coldest_start_c=-25.0))
    assert answer.verdict == "depends"
    assert answer.cold_limit.temperature_c is None
    assert pointers(answer) == ["/t150_c"]


def test_a_limit_of_the_category_is_not_told_as_a_test_of_the_jug(read, box) -> None:
    question = box("bronze", coldest_start_c=5.0, service_data={"family": "mt-1", "grade": "50"})
    copper = "full-ep-additives-attack-yellow-metal"
    told = {
        name: next(item.text for item in answer.findings if item.rule == copper)
        for name, answer in {
            "none": read(label={"family": "mt-1", "grade": "50"}, kv100_mm2_s=18, question=question),
            "own": read(
                label={"family": "mt-1", "grade": "50"},
                kv100_mm2_s=18,
                copper_strip={"rating": "1b", "temperature_c": 121, "hours": 3},
                question=question,
            ),
        }.items()
    }
    assert "as we recall it" in told["none"]
    assert told["own"].startswith("Copper strip 1b at 121 °C")


def test_a_wet_clutch_is_warned_of_a_modifier_in_the_jug(read, box) -> None:
    clutch = box(None, wet_clutch=True)
    jug = {"label": {"family": "engine-oil", "grade": "10W-30"}, "question": clutch}
    plain, modified = (
        next(item for item in read(**jug, limited_slip=has).findings if item.rule == "wet-clutch-needs-its-own-fluid")
        for has in (False, True)
    )
    assert (plain.severity, modified.severity) == ("note", "warning")
    assert "make it slip" in modified.text


def test_a_strip_that_was_given_heads_the_verdict(read, box) -> None:
    jug = {"label": {"family": "gl-5", "grade": "75W-90"}, "copper_strip": {"rating": "1b", "temperature_c": 121}}
    answer = read(**jug, question=box("bronze"))
    assert answer.verdict == "fits-with-care"
    assert answer.because.startswith("Copper strip 1b at 121 °C")


def test_a_label_of_two_categories_counts_as_mt_1_only_without_rings(read, box) -> None:
    """API 1560: MT-1 is for boxes without synchronizer rings; its copper strip of 2a is from memory."""
    label = {"family": "gl-5", "also": ["mt-1"], "grade": "80W-90"}
    kinds = {rings: {one.family for one in read(label=label, question=box(rings)).may_be} for rings in ("bronze", None)}
    assert kinds == {"bronze": {"gl-5"}, None: {"mt-1"}}
    assert read(label=label, question=box("bronze")).verdict == "fits-with-care"
    assert read(label={"family": "gl-4", "also": ["gl-5"], "grade": "80W-90"}).may_be[0].family == "gl-4-gl-5"
