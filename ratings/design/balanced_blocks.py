"""When there are too many sets for one sitting: balanced incomplete blocks."""

import math
from collections import Counter
from dataclasses import dataclass
from itertools import combinations, permutations

from ratings.errors import DesignError

#: So many starting blocks are turned round a circle, at most, in the search for few blocks.
MOST_STARTING_BLOCKS = 4
#: Steps of one search before it is given up.
MOST_STEPS = 50_000

Block = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class BalancedBlocks:
    """Blocks of sets, one for each sitting.

    Attributes
    ----------
    blocks
        Sets of each block, numbered from 0, ascending.
    each_set
        In how many blocks each set stands.
    each_pair
        In how many blocks each pair of sets meets.
    """

    blocks: tuple[Block, ...]
    each_set: int
    each_pair: int


def balanced_blocks(sets: int, block_size: int) -> BalancedBlocks:
    """Return blocks in which every pair of sets meets equally often.

    Parameters
    ----------
    sets, block_size
        Sets in all, and sets in one block.

    Returns
    -------
    BalancedBlocks
        The fewest blocks that a circular construction gives, with or without a fixed set; that is
        not always the fewest there are. Where it gives none, all combinations.

    Raises
    ------
    DesignError
        For fewer than two sets in a block, or more than there are.

    References
    ----------
    Bose RC (1939) Annals of Eugenics 9:353-399 (difference families; from memory). Use for tests
    with many sets: ISO 29842:2011 (named only).
    """
    if not 2 <= block_size <= sets:
        raise DesignError(
            f"Blocks of {block_size} cannot be made from {sets} sets.",
            "Choose two or more, and no more than there are sets.",
        )
    if 2 * block_size > sets and sets - block_size >= 2:
        # Where few sets are left out, balancing who is left out is the smaller task.
        left_out = balanced_blocks(sets, sets - block_size)
        everything = set(range(sets))
        return _counted(sets, [tuple(sorted(everything - {*block})) for block in left_out.blocks])
    plain = math.comb(sets, block_size)
    for starting in range(1, MOST_STARTING_BLOCKS + 1):
        for fixed in (True, False):
            if starting * (sets - fixed) >= plain:
                continue
            found = _turned_round(sets, block_size, starting, fixed=fixed)
            if found:
                return _counted(sets, found)
    return _counted(sets, list(combinations(range(sets), block_size)))


def _counted(sets: int, blocks: list[Block]) -> BalancedBlocks:
    of_set = Counter(one for block in blocks for one in block)
    of_pair = Counter(pair for block in blocks for pair in combinations(block, 2))
    pairs = sets * (sets - 1) // 2
    if len(of_pair) != pairs or len({*of_pair.values()}) > 1 or len({*of_set.values()}) > 1:
        raise DesignError(f"No balanced blocks were found for {sets} sets.")
    return BalancedBlocks(tuple(sorted(blocks)), of_set[0], of_pair[0, 1])


def _turned_round(sets: int, size: int, starting: int, *, fixed: bool) -> list[Block] | None:
    """Turn starting blocks round a circle of sets; with `fixed`, the last set is its centre."""
    around = sets - fixed
    central, uneven = divmod(starting * size, sets) if fixed else (0, 0)
    meetings, odd = divmod(starting * size * (size - 1), sets * (sets - 1) // around)
    if uneven or odd or central > starting:
        return None
    sizes = [size - 1] * central + [size] * (starting - central)
    bases = _difference_family(sizes, around, meetings)
    if bases is None:
        return None
    centre = (around,)
    return [
        tuple(sorted((one + shift) % around for one in base)) + centre * (size - len(base))
        for shift in range(around)
        for base in bases
    ]


def _difference_family(sizes: list[int], around: int, meetings: int) -> list[Block] | None:
    """Search blocks on a circle among whose distances each one occurs `meetings` times."""
    steps = 0

    def search(chosen: list[Block], distances: Counter[int]) -> list[Block] | None:
        nonlocal steps
        if len(chosen) == len(sizes):
            return chosen
        for rest in combinations(range(1, around), sizes[len(chosen)] - 1):
            steps += 1
            if steps > MOST_STEPS:
                return None
            base = (0, *rest)
            grown = distances + Counter((b - a) % around for a, b in permutations(base, 2))
            if max(grown.values(), default=0) <= meetings:
                found = search([*chosen, base], grown)
                if found is not None:
                    return found
        return None

    return search([], Counter())
