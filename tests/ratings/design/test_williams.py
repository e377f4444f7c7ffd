"""Williams orders against R's crossdes and their definition."""

from collections import Counter
from itertools import pairwise

import pytest

from ratings.design.williams import williams_orders

#: Rows and how often each ordered pair of neighbours occurs: R 4.2.2 crossdes 1.1.2 williams(n).
ROWS = [(3, 6, 2), (4, 4, 1), (5, 10, 2), (6, 6, 1), (7, 14, 2),
        (8, 8, 1), (9, 18, 2), (10, 10, 1), (11, 22, 2), (12, 12, 1)]  # fmt: skip


@pytest.mark.parametrize(("sets", "rows", "times"), ROWS)
def test_that_every_set_follows_every_other_equally_often(sets, rows, times):
    orders = williams_orders(sets)
    assert len(orders) == rows
    assert all(sorted(order) == list(range(sets)) for order in orders)
    neighbours = Counter(pair for order in orders for pair in pairwise(order))
    assert len(neighbours) == sets * (sets - 1)
    assert set(neighbours.values()) == {times}
    places = Counter((place, one) for order in orders for place, one in enumerate(order))
    assert set(places.values()) == {rows // sets}


def test_that_two_sets_come_in_both_orders_and_one_alone():
    assert williams_orders(2) == ((0, 1), (1, 0))
    assert williams_orders(1) == ((0,),)
    assert williams_orders(0) == ()
