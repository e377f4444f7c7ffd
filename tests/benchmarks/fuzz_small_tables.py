"""Run small tables by the ten thousand through every finding; print each distinct failure.

    python tests/benchmarks/fuzz_small_tables.py [TABLES] [SEED]

A distinct failure is printed when it first occurs, with the number of its table: with the same
seed, `small_tables.failures(seed, number, number + 1)` repeats it. Ends with 1 if there is one.
"""

import os
import sys
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parents[1])]

CHUNK = 50


def _chunk(seed: int, first: int) -> Counter[str]:
    from small_tables import failures

    return failures(seed, first, first + CHUNK)


def main() -> int:
    """Run what was asked for; 100,000 tables without arguments."""
    tables, seed = (int(word) for word in [*sys.argv[1:], *("100000", "1")[len(sys.argv) - 1 :]])
    firsts = range(0, tables, CHUNK)
    found: Counter[str] = Counter()
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for first, failed in zip(firsts, pool.map(partial(_chunk, seed), firsts), strict=True):
            for where in failed.keys() - found.keys():
                print(f"tables {first} to {first + CHUNK - 1}: {where}", flush=True)
            found += failed
    print(f"{tables} tables, {len(found)} distinct failures, {sum(found.values())} in all")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
