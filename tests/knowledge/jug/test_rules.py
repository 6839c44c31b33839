"""Whether a label and a data sheet can both be true."""

import pytest

from knowledge.every_table import EVERY_RULE
from knowledge.jug.compute import compute_jug_answer
from knowledge.jug.question import JugQuestion

GRADE = "label-grade-is-the-grade-of-the-sheet"
ENGINE_GRADE = "label-engine-grade-is-the-grade-of-the-sheet"
CLAIM = "w-claim-wants-a-measured-cold-figure"
BORNE_OUT = "cold-figure-must-bear-out-the-w-claim"
AGREE = "cold-figures-must-agree"
INDEX = "viscosity-index-is-one-such-oils-have"
SHEARED = "sheared-oil-must-keep-its-grade"
STRIP = "copper-strip-needs-heat-and-hours"
DUAL = "dual-label-counts-as-gl-5"
SCALES = "gear-and-engine-grades-are-different-scales"
SLIP = "limited-slip-must-be-said-alike"
AN_OIL = "figures-must-describe-an-oil"


@pytest.fixture
def says(base):
    """What a rule says of a jug given by its fields; None when it is not concerned."""

    def found(rule, **fields):
        answer = compute_jug_answer(JugQuestion.model_validate(fields), base, detail="full")
        return next((item for item in answer.label_findings if item.rule == rule), None)

    return found


def label(grade=None, family=None):
    """The front of a jug."""
    return {"grade": grade, "family": family}


def test_every_rule_has_its_own_id_and_a_reason() -> None:
    assert len({rule.id for rule in EVERY_RULE}) == len(EVERY_RULE)
    assert all(rule.claim and rule.because and rule.sources for rule in EVERY_RULE)


def test_a_jug_of_which_nothing_is_said_concerns_no_rule(base) -> None:
    assert compute_jug_answer(JugQuestion(), base, detail="full").label_findings == ()


# SAE J306: 12.3 mm²/s is grade 85 in both editions; 7.8 is 75 in 2019 and was 80 in 2005.
@pytest.mark.parametrize(
    ("grade", "kv100", "effect", "severity", "words"),
    [
        ("75W-90", 12.3, "cautions", "warning", "85 in the editions of 2019 and 2005"),
        ("75W-80", 7.8, "cautions", "note", "in the 2005 edition only"),
        ("75W-75", 7.8, "cautions", "note", "in the 2019 edition only"),
        ("75W-90", 15.0, "supports", "note", "as the label says"),
        ("SAE 80w90", 13.5, "supports", "note", "as the label says"),
        ("80W-90", 18.5, "cautions", "warning", "110 in the editions of 2019 and 2005"),
        ("75W-90", 1.0, "cautions", "warning", "no grade in the editions of 2019 and 2005"),
    ],
)
def test_the_hot_grade_of_the_label_is_held_against_both_editions(says, grade, kv100, effect, severity, words) -> None:
    finding = says(GRADE, label=label(grade), kv100_mm2_s=kv100)
    assert (finding.effect, finding.severity) == (effect, severity)
    assert words in finding.text
    assert {cited.id for cited in finding.sources} == {"sae-j306-201902", "sae-j306-200506"}


def test_shearing_does_not_make_the_label_wrong_about_the_fresh_oil(says) -> None:
    jug = {"label": label("75W-80"), "kv100_mm2_s": 9.3, "kv100_sheared_mm2_s": 8.3}
    assert says(GRADE, **jug).effect == "supports"
    assert says(SHEARED, **jug).effect == "cautions"


def test_a_grade_without_its_kv100_is_only_a_word(says) -> None:
    assert says(GRADE, label=label("75W-90")).effect == "no-data"


@pytest.mark.parametrize(
    ("kv100", "effect"), [(9.3, "supports"), (12.49, "supports"), (9.29, "cautions"), (12.5, "cautions")]
)
def test_an_engine_grade_is_held_against_its_own_scale(says, kv100, effect) -> None:
    assert says(ENGINE_GRADE, label=label("10W-30", "engine-oil"), kv100_mm2_s=kv100).effect == effect
    assert says(GRADE, label=label("10W-30", "engine-oil"), kv100_mm2_s=kv100) is None


@pytest.mark.parametrize(
    ("cold", "effect"),
    [
        ({}, "cautions"),
        ({"t150_c": -40}, "supports"),
        ({"brookfield": [{"temperature_c": -40, "viscosity_mpa_s": 150_000}]}, "supports"),
        ({"brookfield": [{"temperature_c": -26, "viscosity_mpa_s": 9_000}]}, "cautions"),
    ],
)
def test_a_w_claim_wants_a_measured_figure_at_its_own_temperature(says, cold, effect) -> None:
    finding = says(CLAIM, label=label("75W-90"), **cold)
    assert finding.effect == effect
    assert "ask for" in finding.text or effect == "supports"


@pytest.mark.parametrize(
    "cold",
    [
        {"t150_c": -39},
        {"brookfield": [{"temperature_c": -40, "viscosity_mpa_s": 150_001}]},
        {"brookfield": [{"temperature_c": -30, "viscosity_mpa_s": 400_000}]},
        {
            "brookfield": [
                {"temperature_c": -26, "viscosity_mpa_s": 40_000},
                {"temperature_c": -35, "viscosity_mpa_s": 400_000},
            ]
        },
    ],
)
def test_a_measured_cold_figure_contradicts_a_w_it_does_not_reach(says, cold) -> None:
    finding = says(BORNE_OUT, label=label("75W-90"), kv100_mm2_s=15, **cold)
    assert finding.effect == "cautions"
    assert "The measured figure counts" in finding.text
    assert says(CLAIM, label=label("75W-90"), **cold) is None


def test_a_w_grade_has_a_least_kv100_too(says) -> None:
    """SAE J306 (2019): 80W wants 8.5 mm²/s, so 7.5 is no 80W however well it flows."""
    assert says(BORNE_OUT, label=label("80W"), kv100_mm2_s=7.5, t150_c=-30).effect == "cautions"
    assert says(BORNE_OUT, label=label("80W"), kv100_mm2_s=8.5, t150_c=-30).effect == "supports"


@pytest.mark.parametrize(
    ("points", "t150"),
    [
        ([(-40, 50_000), (-26, 90_000)], None),
        ([(-40, 50_000), (-40, 60_000)], None),
        ([(-40, 200_000)], -41),
        ([(-45, 100_000)], -41),
    ],
)
def test_cold_figures_that_cannot_all_be_right_are_told(says, points, t150) -> None:
    brookfield = [{"temperature_c": celsius, "viscosity_mpa_s": viscosity} for celsius, viscosity in points]
    assert says(AGREE, brookfield=brookfield, t150_c=t150).effect == "cautions"


def test_cold_figures_that_agree_are_left_alone(says) -> None:
    brookfield = [{"temperature_c": -40, "viscosity_mpa_s": 120_000}, {"temperature_c": -26, "viscosity_mpa_s": 9_000}]
    assert says(AGREE, brookfield=brookfield, t150_c=-41).effect == "supports"


@pytest.mark.parametrize(("kv40", "effect"), [(95, "supports"), (30, "cautions"), (400, "cautions")])
def test_a_viscosity_index_that_no_oil_of_that_kind_has_is_told(says, kv40, effect) -> None:
    assert says(INDEX, label=label(family="gl-4"), kv40_mm2_s=kv40, kv100_mm2_s=15.2).effect == effect


@pytest.mark.parametrize(
    ("index", "effect"), [(84.4, "cautions"), (85, "supports"), (98, "supports"), (98.6, "cautions")]
)
def test_the_ends_of_a_usual_range_are_usual(base, index, effect) -> None:
    """GL-1 oils have 85 to 98 (common practice, no source); an index is a whole number."""
    rule = next(rule for rule in EVERY_RULE if rule.id == INDEX)
    assert rule.judge(viscosity_index=index, label_family=base.families["gl-1"], base=base).effect == effect


@pytest.mark.parametrize(
    ("fresh", "sheared", "effect"),
    [
        (9.3, 8.5, "supports"),
        (9.3, 8.49, "cautions"),
        (9.3, 9.4, "cautions"),
        (None, 13.4, "cautions"),
        (2.5, 2.4, "no-data"),
    ],
)
def test_an_oil_that_shears_below_its_grade_is_told(says, fresh, sheared, effect) -> None:
    jug = {"label": label("75W-90") if fresh is None else None}
    assert says(SHEARED, **jug, kv100_mm2_s=fresh, kv100_sheared_mm2_s=sheared).effect == effect


@pytest.mark.parametrize(
    ("strip", "effect"),
    [
        ({"rating": "1a"}, "cautions"),
        ({"rating": "1a", "temperature_c": 121}, "cautions"),
        ({"rating": "1a", "hours": 3}, "cautions"),
        ({"rating": "1a", "temperature_c": 50, "hours": 3}, "cautions"),
        ({"rating": "1a", "temperature_c": 121, "hours": 3}, "supports"),
        ({"rating": "2a", "temperature_c": 121, "hours": 3}, "supports"),
        ({"rating": "4c", "temperature_c": 121, "hours": 3}, "cautions"),
    ],
)
def test_a_copper_strip_needs_its_temperature_and_hours(says, strip, effect) -> None:
    assert says(STRIP, copper_strip=strip).effect == effect


def test_a_dual_label_counts_as_the_higher_one(says) -> None:
    assert says(DUAL, label=label(family="gl-4-gl-5")).effect == "cautions"
    assert says(DUAL, label=label(family="gl-4")) is None


@pytest.mark.parametrize(
    ("grade", "family", "effect"),
    [
        ("10W-30", "gl-4", "cautions"),
        ("75W-90", "engine-oil", "cautions"),
        ("50", "mt-1", "supports"),
        ("10W-30", "engine-oil", "supports"),
        ("VG 150", "gl-4", "cautions"),
        ("75W-90", None, "supports"),
    ],
)
def test_the_two_scales_are_not_compared(says, grade, family, effect) -> None:
    assert says(SCALES, label=label(grade, family)).effect == effect


def test_a_class_that_has_no_sae_grade_is_not_told_off_for_it(says) -> None:
    assert says(SCALES, label=label("low viscosity", "atf")) is None


@pytest.mark.parametrize(
    ("family", "limited_slip", "effect"),
    [
        ("gl-5", True, "cautions"),
        ("gl-5-limited-slip", False, "cautions"),
        ("gl-5-limited-slip", True, "supports"),
        ("gl-4", False, "supports"),
    ],
)
def test_label_and_sheet_must_agree_about_a_limited_slip_modifier(says, family, limited_slip, effect) -> None:
    assert says(SLIP, label=label(family=family), limited_slip=limited_slip).effect == effect


def test_figures_that_no_oil_has_are_told(says) -> None:
    assert says(AN_OIL, density15_kg_m3=790).effect == "cautions"
    assert says(AN_OIL, density15_kg_m3=870).effect == "supports"
    assert says(AN_OIL, kv100_mm2_s=1.9, kv40_mm2_s=4).effect == "cautions"
