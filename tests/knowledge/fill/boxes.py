"""Random boxes as a counter hears of them, and random questions about them."""

from typing import Any

from hypothesis import strategies as st

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.parts.jug import Label
from knowledge.parts.ring import Ring
from tests.golden.everyday_fills import BOX_KINDS

Fields = dict[str, st.SearchStrategy[Any]]

RARELY = st.sampled_from((False, False, False, False, False, True))
TOP_LEVEL = ("yellow_metal", "final_drive", "limited_slip", "wet_clutch", "coldest_start_c", "duty")
COLD_C = st.sampled_from(range(-40, 11, 5))


def known_to(model: type, fields: Fields) -> Fields:
    """Those of some fields that a model has."""
    return {name: values for name, values in fields.items() if name in model.model_fields}


def stated_boxes(base: KnowledgeBase) -> st.SearchStrategy[dict[str, Any]]:
    """Boxes of every kind with everything stated but the book and the sump."""
    ring = st.fixed_dictionaries(
        {
            "facing": st.sampled_from(sorted(base.facings)),
            "body": st.sampled_from(sorted(base.bodies)),
            "cones": st.sampled_from((1, 1, 2, 3)),
            "condition": st.sampled_from(("new", "worn")),
        }
    )
    one_set = st.lists(ring, min_size=1, max_size=1)
    box = {
        "rings": one_set | one_set | st.lists(ring, max_size=2),
        "yellow_metal": st.booleans(),
        "final_drive": st.sampled_from(("none", "none", "helical", "helical", "hypoid")),
        "limited_slip": RARELY,
        "wet_clutch": RARELY,
        "coldest_start_c": COLD_C,
        "duty": st.sampled_from(sorted(base.duties)),
    }
    return st.fixed_dictionaries(box)


def questions(base: KnowledgeBase) -> st.SearchStrategy[dict[str, Any]]:
    """Such boxes of which something is left out, with and without a book, a ring maker's word, jugs and a kind."""
    grades = sorted({oil.grade for oil in base.lubricants} | {"75W-110", "20W-50", "75W", "SAE 90", "EP 80"})
    named = st.fixed_dictionaries(
        {"family": st.none() | st.sampled_from(sorted(base.families)), "grade": st.none() | st.sampled_from(grades)}
    ).filter(lambda said: said["family"] or said["grade"])
    label = {"family": st.sampled_from(sorted(base.families)), "grade": st.sampled_from(grades)}
    rating, bath_c = st.sampled_from(("1b", "2a", "3b")), st.sampled_from((100, 121))
    strip = st.fixed_dictionaries({"rating": rating, "temperature_c": bath_c, "hours": st.just(3)})
    jug = st.fixed_dictionaries(
        {
            "label": st.fixed_dictionaries(label, optional=known_to(Label, {"also": st.just(["mt-1"])})),
            "copper_strip": st.none() | strip,
        }
    )
    of_the_ring = known_to(Ring, {"replaced": st.booleans(), "fluid_named": named})
    more: Fields = {
        "service_data": named,
        "sump_hot_c": st.sampled_from(range(80, 151, 5)),
        "on_hand": st.lists(jug, min_size=1, max_size=3),
        "in_it_now": jug,
        "box_kind": st.sampled_from(BOX_KINDS),
        "unanswerable": st.just(["/rings/0/facing"]),
    }
    return st.builds(
        _told,
        stated_boxes(base),
        st.fixed_dictionaries({}, optional=known_to(FillQuestion, more)),
        st.fixed_dictionaries({}, optional=of_the_ring),
        st.sets(st.sampled_from(("rings", "facing", "body", "cones", "condition", *TOP_LEVEL))) | st.just(set()),
        st.sampled_from((0, 0, 0, 1)),
    )


def _told(
    box: dict[str, Any], more: dict[str, Any], of_the_ring: dict[str, Any], left_out: set[str], is_of_the_ring: int
) -> dict[str, Any]:
    """The question about a box: what of it is told, and what is told besides."""
    rings = [{name: ring[name] for name in ring if name not in left_out} for ring in box["rings"]]
    if rings and is_of_the_ring:
        rings[0] |= of_the_ring
    return {name: value for name, value in ({**box, "rings": rings} | more).items() if name not in left_out}
