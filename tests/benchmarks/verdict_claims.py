"""How often a verdict says what is not there, word by word, on invented panels.

    python tests/benchmarks/verdict_claims.py [STUDIES] [SEED]

Prints a line for each design: the share of studies in which a set is called clear, over all
conditions or in one; of cells that are called clear although nothing differs there; and of cells
called too small to matter although the true difference is half a point, which is the limit.
"""

import argparse
import sys
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pandas as pd

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parents[1])]

CONTROL = "C"
MARGIN = 0.5


class Design(NamedTuple):
    """A panel; standard deviations in score points.

    Attributes
    ----------
    taste, swing
        Of an evaluator's own opinion of a set, and of that in single conditions.
    real
        True difference of the first set on the first attribute in the first condition.
    """

    name: str
    evaluators: int
    sets: int
    attributes: int
    conditions: int
    taste: float = 0.3
    swing: float = 0.2
    noise: float = 0.5
    step: float = 0.25
    real: float = 0.0


DESIGNS = (
    Design("eight evaluators", 8, 3, 6, 3),
    Design("five evaluators", 5, 3, 6, 3),
    Design("half points", 8, 3, 6, 3, step=0.5),
    Design("many sets", 8, 11, 6, 2),
    Design("strong tastes", 8, 3, 6, 3, taste=0.8, swing=0.5),
    Design("one condition", 6, 3, 7, 1),
    Design("one real, in one condition", 10, 3, 6, 3, real=2.0),
    Design("one at the limit, everywhere", 12, 3, 6, 2, real=-MARGIN),
)


def main() -> None:
    """Print the shares."""
    parser = argparse.ArgumentParser()
    parser.add_argument("studies", nargs="?", type=int, default=400)
    parser.add_argument("seed", nargs="?", type=int, default=1)
    asked = parser.parse_args()
    print(f"{'design':34}{'studies':>8}{'any claim':>10}{'overall':>10}{'a cell':>10}{'small':>10}")
    with ProcessPoolExecutor(2) as pool:
        for design in DESIGNS:
            seeds = range(asked.seed, asked.seed + asked.studies)
            counts = np.array(list(pool.map(partial(_study, design), seeds, chunksize=10)))
            overall, cell, small, small_asked = counts.T
            either = np.mean((overall + cell) > 0)
            of_small = small.sum() / max(small_asked.sum(), 1)
            shares = (either, np.mean(overall > 0), np.mean(cell > 0), of_small)
            told = "".join(f"{100 * share:9.1f}%" for share in shares)
            print(f"{design.name:34}{asked.studies:8}{told}", flush=True)


def _study(design: Design, seed: int) -> tuple[int, int, int, int]:
    """Count false claims over all conditions and in cells, and what is wrongly called small."""
    from ratings.findings.differences import differences
    from ratings.findings.verdict.cells import cell_rows
    from ratings.study.attributes import Scale

    rng = np.random.default_rng([seed, DESIGNS.index(design)])
    true = np.zeros((design.sets + 1, design.attributes, design.conditions))
    if design.real > 0:
        true[1, 0, 0] = design.real
    elif design.real < 0:
        true[1, 0] = design.real
    blocks = differences(_table(design, rng, true), CONTROL, Scale(), MARGIN)
    overall = cell = small = small_asked = 0
    for (code, attribute), row in cell_rows(blocks).items():
        own = true[int(code[1:]), int(attribute[1:])]
        overall += row.overall.word in ("clear", "by condition") and not own.any()
        for each in row.by_condition:
            cell += each.word == "clear" and not own[int(each.condition)]
        if abs(own.mean()) == MARGIN:
            small_asked += 1
            small += row.overall.word == "too small to matter"
    return overall, cell, small, small_asked


def _table(design: Design, rng: np.random.Generator, true: np.ndarray) -> pd.DataFrame:
    shape = (design.evaluators, *true.shape)
    e, s, a = shape[:3]
    value = 6.5 + true[None] + rng.normal(0, 0.7, (e, 1, 1, 1))
    value = value + rng.normal(0, design.taste, (e, s, a, 1)) + rng.normal(0, design.swing, shape)
    value = value + rng.normal(0, design.noise, shape)
    value = np.clip(design.step * np.round(value / design.step), 1, 10)
    evaluator, set_, attribute, condition = (each.ravel() for each in np.indices(shape))
    return pd.DataFrame(
        {
            "evaluator": [f"E{n}" for n in evaluator],
            "set": [f"S{n}" if n else CONTROL for n in set_],
            "attribute": [f"A{n}" for n in attribute],
            "condition": [str(n) for n in condition],
            "score": value.ravel(),
        }
    )


if __name__ == "__main__":
    main()
