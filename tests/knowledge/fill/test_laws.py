"""Laws of the fill over random boxes; `python -m tests.bench.sweep --boxes 10000` tries more of them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.knowledge.fill.boxes import stated_boxes
from tests.knowledge.fill.laws import LAWS
from tests.knowledge.law import law


@pytest.mark.parametrize("law_of_fills", LAWS, ids=lambda one: one.__name__)
def test_the_fill_of_any_box(law_of_fills, base, ask_wire) -> None:
    oils = {oil.id: oil for oil in base.lubricants}

    @law(25)
    @given(box=stated_boxes(base), chance=st.randoms(use_true_random=False))
    def holds(box, chance) -> None:
        assert list(law_of_fills(box, ask_wire, oils, chance)) == []

    holds()
