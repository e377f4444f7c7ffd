"""Balanced incomplete blocks: counted out, and against known designs."""

from collections import Counter
from itertools import combinations

import pytest

from ratings.design.balanced_blocks import balanced_blocks
from ratings.errors import DesignError


@pytest.mark.parametrize("sets", range(2, 11))
def test_that_every_pair_of_sets_meets_equally_often(sets):
    for size in range(2, sets + 1):
        found = balanced_blocks(sets, size)
        assert all(len(set(block)) == size for block in found.blocks)
        pairs = Counter(pair for block in found.blocks for pair in combinations(block, 2))
        assert pairs == dict.fromkeys(combinations(range(sets), 2), found.each_pair)
        stands = Counter(one for block in found.blocks for one in block)
        assert stands == dict.fromkeys(range(sets), found.each_set)
        assert found.each_pair * (sets - 1) == found.each_set * (size - 1)


@pytest.mark.parametrize(
    ("sets", "size", "blocks", "each_set", "each_pair"),
    [(4, 3, 4, 3, 2), (6, 3, 10, 5, 2), (7, 3, 7, 3, 1), (7, 4, 7, 4, 2), (8, 4, 14, 7, 3),
     (9, 4, 18, 8, 3), (10, 5, 18, 9, 4), (11, 5, 11, 5, 2)],
)  # fmt: skip
def test_that_known_small_designs_are_found(sets, size, blocks, each_set, each_pair):
    # Parameters as in the table of Fisher RA, Yates F (1963) Statistical Tables, XVIII, from
    # memory; they also follow from counting.
    found = balanced_blocks(sets, size)
    assert (len(found.blocks), found.each_set, found.each_pair) == (blocks, each_set, each_pair)


@pytest.mark.parametrize(("sets", "size"), [(4, 1), (4, 5), (1, 1)])
def test_that_blocks_that_cannot_be_are_refused(sets, size):
    with pytest.raises(DesignError, match="cannot be made"):
        balanced_blocks(sets, size)
