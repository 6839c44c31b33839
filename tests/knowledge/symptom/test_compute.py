"""Is it the fluid at all? What a rebuilder would conclude, and what no question may break."""

import itertools
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knowledge.box.question import FillQuestion
from knowledge.errors import UnknownIds
from knowledge.fill.compute import compute_lubricant_answer
from knowledge.symptom.answer import SymptomAnswer
from knowledge.symptom.compute import compute_symptom_answer
from knowledge.symptom.observations import VALUES, ring_gap_verdict
from knowledge.symptom.question import RingGap, SymptomQuestion
from knowledge.symptom.rows import CheckRow, EvidenceRow, SuspectRow, SymptomRow
from tests.knowledge.law import law

GOLDEN = Path(__file__).parents[2] / "golden" / "complaints.toml"
EVERYDAY = tomllib.loads(GOLDEN.read_text(encoding="utf-8"))["complaint"]
LAW = law(40)
PLAIN_FIELDS = ("when", "gears", "engine_off_same", "double_clutch_cures", "after_fluid_change", "grip_test")


@pytest.fixture(scope="module")
def complain(base):
    """Asks a symptom question given by its fields."""
    return lambda **fields: compute_symptom_answer(SymptomQuestion.model_validate(fields), base, detail="full")


@pytest.fixture(scope="module")
def complaints(base, partly_stated_questions) -> st.SearchStrategy[dict[str, Any]]:
    """Every kind of symptom question, with a box and a jug or without."""
    millimetres = st.none() | st.floats(0, 20)
    gap = st.fixed_dictionaries(
        {
            "measured_mm": millimetres,
            "service_limit_mm": millimetres,
            "worn_when": st.sampled_from((None, "smaller", "larger")),
        }
    )
    jug = st.fixed_dictionaries(
        {
            "label": st.none()
            | st.fixed_dictionaries(
                {
                    "family": st.none() | st.sampled_from(sorted(base.families)),
                    "grade": st.none()
                    | st.sampled_from(sorted({oil.grade for oil in base.lubricants}))
                    | st.just("75W-80/75W-85"),
                }
            ),
            "kv40_mm2_s": st.none() | st.floats(0.3, 2_000_000),
            "kv100_mm2_s": st.none() | st.floats(0.3, 2_000_000),
            "t150_c": st.none() | st.floats(-60, 200),
            "density15_kg_m3": st.none() | st.floats(700, 1200),
            "limited_slip": st.none() | st.booleans(),
        }
    )
    jug = jug.filter(
        lambda jug: None in (jug["kv40_mm2_s"], jug["kv100_mm2_s"]) or jug["kv100_mm2_s"] < jug["kv40_mm2_s"]
    )
    box = st.tuples(partly_stated_questions, st.none() | jug).map(lambda pair: {**pair[0], "in_it_now": pair[1]})
    flag = st.none() | st.booleans()
    return st.fixed_dictionaries(
        {
            "symptoms": st.lists(st.sampled_from(sorted(base.by_id(SymptomRow))), max_size=4),
            "when": st.none() | st.sampled_from(VALUES["when"]),
            "gears": st.none() | st.sampled_from(VALUES["gears"]),
            "engine_off_same": flag,
            "double_clutch_cures": flag,
            "after_fluid_change": flag,
            "fluid_state": st.lists(st.sampled_from(VALUES["fluid_state"]), max_size=3),
            "ring_gap": st.none() | gap,
            "grip_test": st.none() | st.sampled_from(VALUES["grip_test"]),
            "question": st.none() | box,
        }
    )


def scores(answer: SymptomAnswer) -> dict[str, int]:
    """The score of each suspect that any evidence moves."""
    return {suspect.id: suspect.score for suspect in answer.suspects}


def leaders(answer: SymptomAnswer) -> list[str]:
    """The suspects at the top and those near it."""
    return [suspect.id for suspect in answer.suspects if suspect.leads]


@pytest.mark.parametrize("heard", EVERYDAY, ids=[heard["said"] for heard in EVERYDAY])
def test_everyday_complaint(heard: dict[str, Any], complain) -> None:
    """Common practice, no source: each with what a rebuilder would answer, and why."""
    answer = complain(**heard["asked"])
    assert answer.fluid_can_cure in heard["fluid_can_cure"]
    assert leaders(answer)[0] in heard["first"]
    assert set(heard.get("among", ())) <= {suspect.id for suspect in answer.suspects[:3]}
    assert set(leaders(answer)).isdisjoint(heard.get("never", ()))
    assert heard.get("check") in (None, answer.next_checks[0].id)
    assert all(words in answer.say for words in heard.get("says", ()))
    assert not any(words in answer.say for words in heard.get("never_says", ()))


@pytest.mark.parametrize("also", [[], ["stiff-only-cold"]])
@pytest.mark.parametrize("gears", [None, "one", "several"])
@pytest.mark.parametrize("complaint", ["grinds-one-gear", "grinds-several-gears", "blocks-out", "notchy-two-step"])
def test_a_bad_shift_in_the_cold_is_perhaps_the_oil_however_it_is_entered(complain, complaint, gears, also) -> None:
    """Common practice, no source: thick oil brings a weak ring out, so neither can be ruled out by telephone."""
    answer = complain(symptoms=[complaint, *also], when="cold", gears=gears)
    assert answer.fluid_can_cure == "maybe"
    assert "too-thick-cold" in [suspect.id for suspect in answer.suspects[:2]]


def test_an_empty_question_blames_nobody_and_asks(complain) -> None:
    answer = complain()
    assert (answer.side, answer.fluid_can_cure, answer.suspects, answer.next_checks) == ("unknown", "maybe", (), ())
    assert len(answer.ask_for) >= 3


def test_thick_oil_in_a_cold_start_is_blamed_by_its_wiping_time(complain, box, base) -> None:
    """The figure is the one of that class explained for the same box: the same rule."""
    stated = box("bronze", coldest_start_c=-25.0)
    answer = complain(
        symptoms=["stiff-only-cold"],
        question={**stated, "in_it_now": {"label": {"family": "gl-4", "grade": "85W-140"}}},
    )
    thick = next(suspect for suspect in answer.suspects if suspect.id == "too-thick-cold")
    evidence = next(item for item in thick.speaks_for if "cold-first-shifts" in item.seen)
    explained = compute_lubricant_answer("gl-4-85w-140", FillQuestion.model_validate(stated), base)
    finding = next(one for one in explained.findings if one.rule == "cold-first-shifts-need-the-film-wiped")
    assert evidence.standing == "computed"
    assert evidence.figures == finding.figures
    assert finding.text in evidence.text
    assert "/question/in_it_now" in evidence.about
    assert thick.score > scores(complain(symptoms=["stiff-only-cold"]))["too-thick-cold"]


def test_oil_thin_enough_for_the_cold_speaks_against_thick_oil(complain, box) -> None:
    stated = box("bronze", coldest_start_c=5.0, in_it_now={"label": {"family": "mtf", "grade": "75W-80"}})
    judged = scores(complain(symptoms=["stiff-only-cold"], question=stated))
    assert judged["too-thick-cold"] < scores(complain(symptoms=["stiff-only-cold"]))["too-thick-cold"]


def test_thick_oil_is_no_matter_for_a_complaint_in_the_warm(complain, box) -> None:
    stated = box("bronze", coldest_start_c=-25.0, in_it_now={"label": {"family": "gl-4", "grade": "85W-140"}})
    answer = complain(symptoms=["grinds-one-gear"], question=stated)
    assert "too-thick-cold" not in leaders(answer)
    assert all("cold-first" not in item.seen for suspect in answer.suspects for item in suspect.speaks_for)


def test_service_data_stands_in_for_a_fluid_that_nobody_states(complain, box) -> None:
    stated = box("bronze", coldest_start_c=-30.0, service_data={"family": "gl-4", "grade": "80W-90"})
    answer = complain(symptoms=["stiff-only-cold"], question=stated)
    assert answer.fluid_in_it.status == "taken-from-service-data"
    assert answer.fluid_in_it.lubricants == ("gl-4-80w-90",)
    assert not any(item.seen.startswith("in_it=") for suspect in answer.suspects for item in suspect.against)


def test_a_fluid_other_than_the_service_data_names_is_suspected(complain, box) -> None:
    service = {"service_data": {"family": "mtf", "grade": "75W-80"}}
    other = box("bronze", in_it_now={"label": {"family": "gl-4", "grade": "80W-90"}}, **service)
    named = box("bronze", in_it_now={"label": {"family": "mtf", "grade": "75W-80"}}, **service)
    of_other, of_named = (scores(complain(symptoms=["grinds-several-gears"], question=item)) for item in (other, named))
    assert of_other["slippery-or-wrong-fluid"] > of_named["slippery-or-wrong-fluid"]


def test_measured_figures_of_the_jug_beat_the_band_of_its_class(complain, box) -> None:
    def thick(**jug: Any) -> int:
        stated = box("bronze", coldest_start_c=-20.0, in_it_now={"label": {"family": "gl-4"}, **jug})
        return scores(complain(symptoms=["stiff-only-cold"], question=stated))["too-thick-cold"]

    assert thick(kv40_mm2_s=400.0, kv100_mm2_s=28.0) > thick(kv40_mm2_s=35.0, kv100_mm2_s=7.5)


@pytest.mark.parametrize(
    ("measured", "limit", "worn_when", "status"),
    [
        (0.4, 0.5, "smaller", "past-limit"),
        (0.6, 0.5, "smaller", "within-limit"),
        (0.6, 0.5, "larger", "past-limit"),
        (0.4, 0.5, "larger", "within-limit"),
        (0.5, 0.5, "smaller", "within-limit"),
        (0.5, 0.5, "larger", "within-limit"),
        (0.0, None, "smaller", "no-judgement"),
        (0.0, 0.5, None, "no-judgement"),
        (None, 0.5, "smaller", "no-judgement"),
    ],
)
def test_the_ring_gap_is_judged_by_the_service_limit_in_its_direction(measured, limit, worn_when, status) -> None:
    gap = RingGap(measured_mm=measured, service_limit_mm=limit, worn_when=worn_when)
    assert ring_gap_verdict(gap).status == status


def test_a_gap_without_its_limit_moves_nobody_and_the_limit_is_asked_for(complain) -> None:
    answer = complain(symptoms=["grinds-one-gear"], ring_gap={"measured_mm": 0.05})
    assert scores(answer) == scores(complain(symptoms=["grinds-one-gear"]))
    assert any("service limit" in line for line in answer.ask_for)
    assert "measure-ring-gap" in [check.id for check in answer.next_checks]


def test_grip_on_the_cone_condemns_a_ring_and_its_teeth_alone_do_not(complain) -> None:
    teeth = scores(complain(symptoms=["ring-teeth-worn"]))
    assert teeth.get("worn-ring-grip", 0) <= 0
    assert scores(complain(grip_test="slips"))["worn-ring-grip"] > 0
    assert scores(complain(grip_test="locks"))["worn-ring-grip"] < 0


def test_jumping_out_is_fluid_in_no_combination_of_circumstances(complain) -> None:
    for when, gears, changed in itertools.product((None, *VALUES["when"]), (None, *VALUES["gears"]), (None, True)):
        answer = complain(symptoms=["jumps-out"], when=when, gears=gears, after_fluid_change=changed)
        assert answer.fluid_can_cure == "no"
        assert answer.side == "hardware"


def test_with_the_box_apart_the_bench_comes_before_the_road(complain) -> None:
    bench = {"grip-test", "measure-ring-gap", "keys-slots-and-teeth"}
    answer = complain(symptoms=["ring-teeth-worn"])
    assert answer.next_checks[0].id in bench
    assert complain(symptoms=["grinds-one-gear"]).next_checks[0].id not in bench


def test_every_value_a_caller_can_state_moves_somebody(base) -> None:
    """The contract's fields: none may be asked for in vain. Inverse: knowledge check refuses marks nobody can make."""
    seen = {row.seen for row in base.rows(EvidenceRow)} | {row.only_with for row in base.rows(EvidenceRow)}
    placed = (*base.by_id(SuspectRow).values(), *base.by_id(CheckRow).values())
    seen |= {mark for row in placed for mark in row.impossible_when}
    assert {f"{field}={value}" for field, values in VALUES.items() for value in values} <= seen


@LAW
@given(data=st.data())
def test_every_question_gets_an_answer_whose_sums_and_order_hold(data, complaints, complain, base) -> None:
    answer = complain(**data.draw(complaints))
    for suspect in answer.suspects:
        assert suspect.score == sum(item.steps for item in (*suspect.speaks_for, *suspect.against))
        assert all(1 <= item.steps <= 3 for item in suspect.speaks_for)
        assert all(-3 <= item.steps <= -1 for item in suspect.against)
        assert all(item.sources and item.text for item in (*suspect.speaks_for, *suspect.against))
        assert suspect.side == base.by_id(SuspectRow)[suspect.id].side
        assert suspect.check in base.by_id(CheckRow)
        assert not suspect.leads or suspect.score > 0
    ordered = [(suspect.leads, suspect.score) for suspect in answer.suspects]
    assert ordered == sorted(ordered, reverse=True)
    costs = [check.cost for check in answer.next_checks]
    assert costs == sorted(costs)
    assert len(answer.summary) <= 140
    assert 0 < len(answer.say.split()) <= 40
    cited = {cited.id for suspect in answer.suspects for item in (suspect, *suspect.speaks_for, *suspect.against)
             for cited in item.sources}  # fmt: skip
    assert cited <= {source.id for source in answer.sources}
    assert "service-data-decides" in answer.every_job
    assert {caution.id for caution in answer.cautions}.isdisjoint(answer.every_job)


@LAW
@given(data=st.data())
def test_the_order_of_complaints_means_nothing(data, complaints, complain) -> None:
    question = data.draw(complaints)
    shuffled = {
        name: data.draw(st.permutations(question[name])) + question[name][:1] for name in ("symptoms", "fluid_state")
    }
    assert complain(**{**question, **shuffled}) == complain(**question)


@LAW
@given(data=st.data())
def test_what_speaks_against_a_suspect_never_raises_it(data, complaints, complain) -> None:
    """One more thing seen raises only suspects that it, or something it completes, speaks for."""
    question = data.draw(complaints)
    field = data.draw(st.sampled_from([name for name in PLAIN_FIELDS if question[name] is not None] or ["when"]))
    before, after = complain(**{**question, field: None}), complain(**question)
    was = {item.id: {(e.seen, e.text) for e in item.speaks_for} for item in before.suspects}
    fell = {item.id: {(e.seen, e.text) for e in item.against} for item in before.suspects}
    for suspect in after.suspects:
        new = {(e.seen, e.text) for e in suspect.speaks_for} - was.get(suspect.id, set())
        gone = fell.get(suspect.id, set()) - {(e.seen, e.text) for e in suspect.against}
        if not new and not gone:
            assert suspect.score <= scores(before).get(suspect.id, 0)


@LAW
@given(data=st.data())
def test_a_check_that_is_wanted_speaks_of_a_leader_or_is_called_for(data, complaints, complain, base) -> None:
    answer = complain(**data.draw(complaints))
    leading = set(leaders(answer))
    for check in answer.next_checks:
        pointed = {id for outcome in check.outcomes for id in outcome.points_to} & leading
        assert pointed or base.by_id(CheckRow)[check.id].always_when


BENCH = {"grip_test": "slips", "ring_gap": {"measured_mm": 0.2, "service_limit_mm": 0.5, "worn_when": "smaller"}}
THIN = {"in_it_now": {"label": {"family": "mtf", "grade": "75W-80"}}}


@pytest.mark.parametrize("field", sorted(BENCH))
@pytest.mark.parametrize("complaint", ["grinds-several-gears", "stiff-only-cold"])
def test_a_ring_that_failed_on_the_bench_leads_and_fluid_is_no_sure_cure(complain, complaint, field) -> None:
    known = {"symptoms": [complaint], "gears": "all", "after_fluid_change": True}
    assert complain(**known).fluid_can_cure == "yes"
    both = complain(**known, **BENCH)
    assert both.fluid_can_cure == "maybe"
    assert "worn-ring-grip" in leaders(both)
    one = complain(**known, **{field: BENCH[field]})
    assert one.fluid_can_cure == "maybe"
    assert "does not bring back worn threads" in one.reason


def test_fluid_is_no_sure_cure_where_the_rings_are_stated_worn(complain, box) -> None:
    known = {"symptoms": ["stiff-only-cold"], "gears": "all"}
    worn = complain(**known, question=box("bronze", condition="worn", coldest_start_c=-30.0, **THIN))
    assert leaders(worn)[0] == "too-thick-cold"
    assert worn.fluid_can_cure == "maybe"
    assert "does not bring back worn threads" in worn.reason


@pytest.mark.parametrize("complaint", ["stiff-only-cold", "grinds-several-gears"])
def test_fluid_is_no_sure_cure_for_a_lined_box_that_ran_on_axle_oil(complain, box, complaint) -> None:
    ran_on = {"label": {"family": "gl-5", "grade": "75W-90"}}
    answer = complain(symptoms=[complaint], when="cold", question={**box("paper"), "in_it_now": ran_on})
    assert answer.fluid_can_cure == "maybe"
    assert "burnt or glazed lining" in answer.reason
    assert "lining-burn-and-glaze" in {caution.id for caution in answer.cautions}


@pytest.mark.parametrize("complaint", ["grinds-one-gear", "grinds-several-gears", "blocks-out", "notchy-two-step"])
def test_a_box_without_rings_has_no_ring_to_suspect_and_none_to_measure(complain, box, complaint) -> None:
    of_a_ring = {"worn-ring-grip", "burnt-lining", "stuck-cone", "worn-keys-or-slots", "shift-beyond-the-ring"}
    answer = complain(symptoms=[complaint], question=box(None))
    assert of_a_ring.isdisjoint(scores(answer))
    checks = {check.id for check in answer.next_checks} | {suspect.check for suspect in answer.suspects}
    assert checks.isdisjoint({"grip-test", "measure-ring-gap", "double-clutch-test", "run-in-and-compare"})


def test_a_box_without_linings_has_none_that_could_be_burnt(complain, box) -> None:
    assert "burnt-lining" in scores(complain(fluid_state=["burnt"], question=box("paper")))
    assert "burnt-lining" not in scores(complain(fluid_state=["burnt"], question=box("bronze")))


def test_a_fluid_that_cannot_be_behind_the_complaint_is_no_suspect_whatever_is_in_the_box(complain, box) -> None:
    slippery = {"in_it_now": {"label": {"family": "gl-5-limited-slip", "grade": "75W-90"}}}
    answer = complain(symptoms=["jumps-out"], gears="all", after_fluid_change=True, question=box("bronze", **slippery))
    assert {suspect.side for suspect in answer.suspects} == {"hardware"}


def checks_for(answer: SymptomAnswer) -> list[str]:
    """The checks that are wanted, in their order."""
    return [check.id for check in answer.next_checks]


def test_a_noisy_box_has_its_level_checked_first_whatever_is_in_it(complain, box) -> None:
    hill = {"sump_hot_c": 130.0, "duty": "towing", "in_it_now": {"label": {"family": "atf", "grade": "low viscosity"}}}
    answer = complain(symptoms=["noise-without-shift-fault"], when="hot", question=box("bronze", **hill))
    assert leaders(answer) == ["too-thin-hot"]
    assert checks_for(answer)[0] == "level-and-smell"


def test_a_gear_that_jumps_out_has_its_mounts_looked_at_and_no_ring_measured(complain) -> None:
    wanted = checks_for(complain(symptoms=["jumps-out"], gears="one"))
    assert wanted[:2] == ["mounts-and-lever", "load-direction"]
    assert {"grip-test", "measure-ring-gap"}.isdisjoint(wanted)
    assert "grip-test" in checks_for(complain(symptoms=["jumps-out", "grinds-one-gear"], gears="one"))


def test_grinding_at_rest_is_not_tried_on_the_road(complain) -> None:
    wanted = checks_for(complain(symptoms=["grinds-reverse-at-rest"]))
    assert wanted[0] == "clutch-wait-test"
    assert "double-clutch-test" not in wanted


def test_a_check_that_speaks_of_every_leader_is_offered(complain) -> None:
    answer = complain(symptoms=["grinds-several-gears"])
    assert leaders(answer) == ["worn-ring-grip", "slippery-or-wrong-fluid", "clutch-drag"]
    assert "double-clutch-test" in checks_for(answer)


def test_what_a_complaint_implies_counts_once_when_stated_too(complain) -> None:
    once = complain(symptoms=["stiff-only-cold"])
    assert scores(complain(symptoms=["stiff-only-cold"], when="cold")) == scores(once)


def test_unknown_ids_are_refused_at_their_places(complain) -> None:
    with pytest.raises(UnknownIds) as caught:
        complain(symptoms=["jumps-out", "jumps-outt"], question={"rings": [{"facing": "papr"}]})
    assert [(item.pointer, item.did_you_mean) for item in caught.value.items] == [
        ("/symptoms/1", "jumps-out"),
        ("/question/rings/0/facing", "paper"),
    ]


@pytest.mark.parametrize("kv100_mm2_s", [0.5, 400, 37_791, 1e6])
def test_a_viscosity_that_no_oil_has_still_gets_an_answer(complain, box, kv100_mm2_s) -> None:
    """As if a digit had slipped; nothing of it can be computed at some of the temperatures that are looked for."""
    assert complain(question=box("bronze", in_it_now={"kv100_mm2_s": kv100_mm2_s}, coldest_start_c=-50.0)).summary
