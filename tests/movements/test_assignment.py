"""Visits named after parts and put in rounds, from how far each is from the place of each part."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formcheck.movements.assignment import (
    INFEASIBLE,
    LEFT_OUT_COST,
    SWAP_COST,
    segment_rounds,
    swap_count,
)


def sure(*parts, count=3):
    """Visits that can only have been these parts."""
    return [tuple(0.0 if k == part else INFEASIBLE for k in range(count)) for part in parts]


@pytest.mark.parametrize(
    ("parts", "rounds", "cost"),
    [
        ((0, 1, 2), ((0, 1, 2),), 0.0),
        ((0, 1, 2, 0, 1, 2), ((0, 1, 2), (0, 1, 2)), 0.0),
        ((0, 2), ((0, 2),), LEFT_OUT_COST),
        ((1, 0, 2), ((1, 0, 2),), SWAP_COST),
        ((0, 0), ((0,), (0,)), 4 * LEFT_OUT_COST),
        ((), (), 0.0),
    ],
)
def test_rounds_are_those_that_suppose_least(parts, rounds, cost):
    found = segment_rounds(sure(*parts))
    assert found.rounds == rounds
    assert found.cost == cost


def test_a_visit_that_fits_two_parts_is_the_one_that_is_due():
    first, _, last = sure(0, 1, 2)
    assert segment_rounds([first, (1.0, 1.2, 1.0), last]).rounds == ((0, 1, 2),)


def test_what_is_seen_clearly_goes_before_what_is_due():
    first, _, last = sure(0, 1, 2)
    assert segment_rounds([(4.0, 0.0, 9.0), (0.0, 4.0, 9.0), last]).rounds == ((1, 0, 2),)
    assert segment_rounds([first, (9.0, 9.0, 0.0)]).rounds == ((0, 2),)


@given(st.lists(st.tuples(*[st.floats(0, 9)] * 3), max_size=8))
def test_every_visit_has_one_part_and_no_round_has_a_part_twice(distances):
    rounds = segment_rounds(distances).rounds
    assert sum(map(len, rounds)) == len(distances)
    assert all(len(set(parts)) == len(parts) for parts in rounds)


@pytest.mark.parametrize(
    ("parts", "swaps"), [((0, 1, 2), 0), ((2, 1, 0), 1), ((1, 2, 0), 2), ((3, 0), 1), ((), 0)]
)
def test_swaps_are_the_exchanges_that_put_parts_in_order(parts, swaps):
    assert swap_count(parts) == swaps
