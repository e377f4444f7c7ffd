"""Who was never passed over, from the graph of decisions."""

import numpy as np
import pytest

from ratings.statistics.preference.pair_links import never_passed_over


@pytest.mark.parametrize(
    ("won", "top", "bottom", "in_order"),
    [
        (["AB", "AC", "BC"], "A", "C", "ABC"),
        (["CB", "BA"], "C", "A", "CBA"),
        (["AB", "AC"], "A", "BC", ""),
        (["AC", "BC"], "AB", "C", ""),
        (["AB", "BA", "AC", "CD", "DC"], "AB", "CD", ""),
        (["AB", "BC", "CA"], "", "", ""),
        # Of C nobody decided anything.
        (["AB"], "A", "B", ""),
    ],
    ids=[
        "in order",
        "no long way",
        "two behind",
        "two ahead",
        "circles",
        "one circle",
        "undecided",
    ],
)
def test_that_top_and_bottom_are_read_from_the_decisions(won, top, bottom, in_order):
    sets = max(3, 1 + max("ABCD".index(each) for each in "".join(won)))
    wins = np.zeros((sets, sets))
    for one, other in won:
        wins["ABCD".index(one), "ABCD".index(other)] = 8
    expected = tuple(tuple("ABCD".index(one) for one in each) for each in (top, bottom, in_order))
    assert never_passed_over(wins) == expected
