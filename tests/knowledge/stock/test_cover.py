"""The integer programs against every choice of columns, tried one by one."""

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from knowledge.stock.cover import Need, best_cover, fewest

COLUMNS = "abcdef"
SETS = st.frozensets(st.sampled_from(COLUMNS))
NEEDS = st.builds(lambda some, first, fits: Need(some, some & first, some & fits), SETS, SETS, SETS)
ROWS = st.lists(st.tuples(NEEDS.filter(lambda need: need.serving), st.integers(1, 10_000)), min_size=1, max_size=7)


def every_choice(rows, size):
    """Every set of so many columns that serve anything."""
    return combinations(sorted({column for need, _ in rows for column in need.serving}), size)


def worth(rows, chosen, at_hand):
    """What is served, by first choices, without care, and what is at hand: the first that differs decides."""
    kinds = [sum(times for need, times in rows if not need[kind].isdisjoint(chosen)) for kind in range(3)]
    return (*kinds, len(at_hand & set(chosen)))


@given(ROWS)
def test_no_smaller_choice_covers_every_row(rows) -> None:
    least = fewest(need.serving for need, _ in rows)
    covering = [
        size
        for size in range(len(COLUMNS) + 1)
        if any(all(not need.serving.isdisjoint(chosen) for need, _ in rows) for chosen in every_choice(rows, size))
    ]
    assert least == covering[0]


@given(ROWS, SETS, st.data())
def test_no_choice_of_as_many_is_worth_more(rows, at_hand, data) -> None:
    columns = {column for need, _ in rows for column in need.serving}
    size = data.draw(st.integers(1, len(columns)))
    chosen = best_cover(rows, size, at_hand)
    assert len(chosen) == size
    assert worth(rows, chosen, at_hand) == max(worth(rows, other, at_hand) for other in every_choice(rows, size))


def test_the_fewest_are_found_where_taking_the_most_useful_first_needs_one_more() -> None:
    """The textbook case: `m` serves most rows at once and is in no smallest cover."""
    rows = ["am", "am", "a", "bm", "bm", "b"]
    assert fewest(map(frozenset, rows)) == 2


def test_a_row_that_nothing_covers_costs_no_column() -> None:
    assert fewest([frozenset()]) == 0
    assert fewest([frozenset(), frozenset("a")]) == 1
