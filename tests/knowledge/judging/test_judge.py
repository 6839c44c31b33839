"""Laws of the verdicts: what makes a box harder never makes an oil fit it better."""

from itertools import permutations

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from knowledge.fill.answer import FullFillAnswer
from knowledge.fill.classes import SHOWN

FROM_BEST = ("fits", "fits-with-care", "depends", "does-not-fit")
LAW = settings(max_examples=50, deadline=None, suppress_health_check=list(HealthCheck))


def verdicts(answer: FullFillAnswer) -> dict[str, int]:
    """How each class is judged; less is better."""
    return {item.lubricant.id: FROM_BEST.index(item.verdict) for item in answer.candidates}


def assert_none_improved(easier: FullFillAnswer, harder: FullFillAnswer) -> None:
    before, after = verdicts(easier), verdicts(harder)
    assert {id for id in before if after[id] < before[id]} == set()


@LAW
@given(data=st.data())
def test_a_colder_start_never_improves_a_verdict(data, partly_stated_questions, ask) -> None:
    question = data.draw(partly_stated_questions)
    warm, cold = sorted((data.draw(st.sampled_from(range(-50, 51))) for _ in range(2)), reverse=True)
    assert_none_improved(
        ask(**{**question, "coldest_start_c": float(warm)}), ask(**{**question, "coldest_start_c": float(cold)})
    )


@LAW
@given(data=st.data())
def test_a_hotter_sump_never_improves_a_verdict(data, partly_stated_questions, ask) -> None:
    question = data.draw(partly_stated_questions)
    cool, hot = sorted(data.draw(st.sampled_from(range(20, 151))) for _ in range(2))
    assert_none_improved(ask(**{**question, "sump_hot_c": float(cool)}), ask(**{**question, "sump_hot_c": float(hot)}))


@LAW
@given(data=st.data())
def test_yellow_metal_never_improves_a_verdict(data, stated_questions, ask) -> None:
    question = data.draw(stated_questions)
    assert_none_improved(ask(**{**question, "yellow_metal": False}), ask(**{**question, "yellow_metal": True}))


@LAW
@given(data=st.data())
def test_a_bronze_ring_body_never_improves_a_verdict(data, stated_questions, ask) -> None:
    question = data.draw(stated_questions)
    steel = [{**ring, "body": "steel"} for ring in question["rings"]]
    bronze = [{**ring, "body": "bronze"} for ring in question["rings"]]
    assert_none_improved(ask(**{**question, "rings": steel}), ask(**{**question, "rings": bronze}))


@LAW
@given(data=st.data())
def test_wear_never_improves_a_verdict(data, stated_questions, ask) -> None:
    question = data.draw(stated_questions)
    new, worn = (
        {**question, "rings": [{**ring, "condition": condition} for ring in question["rings"]]}
        for condition in ("new", "worn")
    )
    assert_none_improved(ask(**new), ask(**worn))


@LAW
@given(data=st.data())
def test_harder_duty_at_the_same_heat_never_improves_a_verdict(data, stated_questions, ask) -> None:
    question = data.draw(stated_questions)
    assert_none_improved(ask(**{**question, "duty": "street"}), ask(**{**question, "duty": "competition"}))


@LAW
@given(data=st.data())
def test_a_clutch_in_the_oil_never_improves_a_verdict(data, stated_questions, ask) -> None:
    question = data.draw(stated_questions)
    for part in ("wet_clutch", "limited_slip"):
        assert_none_improved(ask(**{**question, part: False}), ask(**{**question, part: True}))


@LAW
@given(data=st.data())
def test_another_kind_of_ring_never_improves_a_verdict(data, stated_questions, ask) -> None:
    question = {**data.draw(stated_questions), "service_data": None}
    if question["rings"]:
        assert_none_improved(ask(**{**question, "rings": question["rings"][:1]}), ask(**question))


@LAW
@given(data=st.data())
def test_the_order_of_the_rings_means_nothing(data, partly_stated_questions, ask) -> None:
    question = data.draw(partly_stated_questions)
    rings = question["rings"] or [{"facing": "paper", "body": None}, {"facing": None, "body": "steel"}]
    first, *others = (ask(**{**question, "rings": list(order)}) for order in permutations(rings))
    for other in others:
        assert judged(other) == judged(first)


def judged(answer: FullFillAnswer) -> tuple:
    """All that an answer says, apart from where in the question it points."""
    candidates = [
        (item.lubricant.id, item.verdict, item.rank, item.share_of_worlds, item.figures) for item in answer.candidates
    ]
    return (answer.outcome, answer.summary, answer.window, answer.worlds.tried, answer.cautions, candidates)


@LAW
@given(data=st.data())
def test_the_same_ring_twice_is_one_ring(data, stated_questions, ask) -> None:
    question = data.draw(stated_questions)
    assert judged(ask(**question)) == judged(ask(**{**question, "rings": question["rings"] * 2}))


@LAW
@given(data=st.data())
def test_every_figure_has_its_ends_in_order(data, partly_stated_questions, ask) -> None:
    for item in ask(**data.draw(partly_stated_questions)).candidates:
        spans = [getattr(item.figures, name) for name in SHOWN]
        spans += [figure for finding in item.findings for figure in finding.figures]
        for span in filter(None, spans):
            assert span.min <= span.max
            assert span.rests_on
            if getattr(span, "value", None) is not None:
                assert span.min <= span.value <= span.max


@LAW
@given(data=st.data())
def test_a_verdict_follows_from_its_findings(data, stated_questions, ask) -> None:
    for item in ask(**data.draw(stated_questions)).candidates:
        effects = {finding.effect for finding in item.findings}
        if "excludes" in effects:
            assert item.verdict == "does-not-fit"
        else:
            assert item.verdict == ("fits-with-care" if "cautions" in effects else "fits")


@LAW
@given(data=st.data())
def test_a_margin_below_one_is_never_silent(data, stated_questions, ask) -> None:
    for item in ask(**data.draw(stated_questions)).candidates:
        for finding in item.findings:
            if finding.margin is not None and finding.margin < 0.999:
                assert finding.effect in ("cautions", "excludes")


def test_a_finding_points_at_the_parts_of_the_question_it_reads(ask, box, says) -> None:
    rings = [{"facing": facing, "body": "steel", "cones": 1, "condition": "new"} for facing in ("molybdenum", "paper")]
    answer = ask(**box("molybdenum", rings=rings))
    burnt = says(answer, "gl-4-75w-90", "lined-rings-burn-under-thick-gear-oil")
    assert set(burnt.about) == {"/rings/0/facing", "/rings/1/facing"}
    frozen = says(answer, "gl-4-85w-90", "cold-start-needs-oil-that-flows")
    assert frozen.about == ("/coldest_start_c",)


def test_the_heat_of_a_shift_points_at_all_that_it_comes_from(ask, box, says) -> None:
    heat = says(ask(**box("paper")), "mtf-75w-80", "hard-shifts-must-not-overheat-the-facing")
    fields = {"/rings/0/facing", "/rings/0/cones", "/duty", "/sump_hot_c", "/ring_geometry"}
    assert set(heat.about) == fields
    copper = says(ask(**box("bronze")), "gl-5-75w-90", "full-ep-additives-attack-yellow-metal")
    assert {"/rings/0/facing", "/rings/0/body", "/yellow_metal"} <= set(copper.about)
