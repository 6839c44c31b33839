"""What a grade without its family means today. Common practice, no source: the trade's reading of old books."""

import pytest

from knowledge.box.named import bare_grade
from knowledge.box.question import ServiceData


@pytest.mark.parametrize(
    ("stated", "box", "classes"),
    [
        ({"grade": "SAE 90"}, {}, ("gl-4-80w-90", "gl-4-75w-90")),
        ({"grade": "EP 90"}, {"coldest_start_c": -20}, ("gl-4-75w-90", "gl-4-80w-90")),
        ({"grade": "90 wt"}, {"is_hypoid": True}, ("gl-5-80w-90", "gl-5-75w-90")),
        ({"grade": "hypoid 90"}, {}, ("gl-4-80w-90", "gl-4-75w-90")),
        ({"grade": "hypoid 90"}, {"built_from": 1940}, ("gl-4-80w-90", "gl-4-75w-90")),
        ({"grade": "hypoid 90"}, {"built_from": 1970}, ("gl-5-80w-90", "gl-5-75w-90")),
        ({"grade": "hypoid 90"}, {"has_lining": True}, ("gl-5-80w-90", "gl-5-75w-90")),
        ({"grade": "hypoid 90"}, {"has_rings": False, "built_from": 1990}, ("gl-5-80w-90", "gl-5-75w-90")),
        ({"grade": "Hypoid 80W-90"}, {}, ("gl-5-80w-90", "gl-5-75w-90")),
        ({"grade": "90"}, {"has_lining": True, "built_from": 1990}, ("gl-4-80w-90", "gl-4-75w-90")),
        ({"grade": "75W-90"}, {}, ("gl-4-75w-90", "mtf-75w-90")),
        ({"grade": "75W-90"}, {"is_hypoid": True}, ("gl-5-75w-90", "gl-5-80w-90")),
        ({"grade": "140"}, {"has_rings": False}, ("gl-1-140", "gl-4-85w-140")),
        ({"grade": "HD 30"}, {}, ("engine-oil-30", "engine-oil-10w-30")),
        ({"grade": "20W-50"}, {}, ("engine-oil-15w-40",)),
        ({"grade": "ATF"}, {"coldest_start_c": -40}, ("atf-standard", "mtf-75w-75")),
        ({"family": "atf"}, {"coldest_start_c": -40}, ("atf-standard", "mtf-75w-75")),
        ({"family": "gl-3", "grade": "80W-90"}, {}, ("gl-4-80w-90", "gl-4-75w-90")),
        ({"family": "gl-3", "grade": "75W-90"}, {}, ("gl-4-75w-90", "mtf-75w-90")),
        ({"family": "gl-3"}, {}, ("gl-4-80w-90", "gl-4-75w-90")),
        ({"family": "gl-4", "grade": "90"}, {}, ("gl-4-80w-90", "gl-4-75w-90")),
        ({"family": "engine-oil", "grade": "50"}, {"has_rings": False}, ("mt-1-50",)),
    ],
)
def test_a_bare_grade_means_what_the_trade_reads_in_it(base, stated, box, classes) -> None:
    asked = {"has_rings": True, "is_hypoid": False, "coldest_start_c": None} | box
    assert bare_grade(ServiceData.model_validate(stated), **asked, base=base).classes == classes


@pytest.mark.parametrize(
    "stated", [{"family": "gl-4", "grade": "75W-90"}, {"family": "gl-1", "grade": "90"}, {"grade": "75W-140"}, {}]
)
def test_what_names_its_family_is_not_bare(base, stated) -> None:
    asked = {"has_rings": True, "is_hypoid": False, "coldest_start_c": None}
    assert bare_grade(ServiceData.model_validate(stated), **asked, base=base) is None
