"""How often is a true difference called clear, beside how often the plan promises it?

    python tests/benchmarks/claim_power.py [STUDIES] [SEED]

Prints a line for each panel: a difference that is called clear with a chance of 80 % by the formula
of the plan, with what the candidates' differences share as it is in this panel; what `plan`
promises for it, which supposes that they share the most they can; how often the verdict calls it
clear on invented panels; and the formula's mean chance at the differences that the rows say a panel
like this would reliably find.
"""

import itertools
import os
import sys
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pandas as pd

sys.path[:0] = [str(Path(__file__).parents[2])]

CONTROL, STEP = "S0", 0.5


class Panel(NamedTuple):
    """A panel that rates every candidate beside the control; standard deviations in points.

    Attributes
    ----------
    taste
        Of an evaluator's own opinion of a set.
    scatter
        Of one score.
    """

    evaluators: int
    sets: int
    attributes: int
    conditions: int
    taste: float = 0.4
    scatter: float = 0.5

    @property
    def sd(self) -> float:
        """Over evaluators of a mean difference; a rounded score has the step's variance more."""
        once = self.scatter**2 + STEP**2 / 12
        return float(np.sqrt(2 * (self.taste**2 + once / self.conditions)))

    @property
    def planned(self) -> tuple[float, int, int, int]:
        """What the plan is asked with."""
        return self.sd, self.evaluators, self.sets - 1, self.attributes

    @property
    def shared(self) -> float:
        """Correlation of two candidates' differences: the evaluator's own view of the control."""
        return (self.taste / self.sd) ** 2


PANELS = [Panel(*each) for each in itertools.product((3, 6, 10, 20), (2, 4, 8), (1, 4, 8), (1, 3))]


def invented(panel: Panel, difference: float, rng: np.random.Generator) -> pd.DataFrame:
    """Draw one study in half points.

    Every candidate differs on one attribute: p of a row is adjusted over its own set's attributes
    and over all candidates whatever they do, so that each is a set that alone differs.
    """
    shape = panel.attributes, panel.evaluators, panel.sets - 1, panel.conditions, 2
    attribute, evaluator, set_, condition, side = np.indices(shape).reshape(5, -1)
    set_ += 1
    heard = set_ * side
    level = rng.normal(4.0, 0.3, shape[:2])[attribute, evaluator]
    taste = rng.normal(0, panel.taste, (*shape[:2], panel.sets))[attribute, evaluator, heard]
    differs = (heard > 0) & (attribute == (heard - 1) % panel.attributes)
    score = level + taste + rng.normal(0, panel.scatter, side.size) + difference * differs
    table = pd.DataFrame(
        {
            "evaluator": np.char.add("E", evaluator.astype(str)),
            "set": np.char.add("S", heard.astype(str)),
            "attribute": np.char.add("A", attribute.astype(str)),
            "condition": np.char.add("C", condition.astype(str)),
            "pair": set_ * panel.conditions + condition,
            "side": np.array(["A", "B"])[side],
            "score": np.clip(np.round(score / STEP) * STEP, 1, 10),
        }
    )
    keys = ["evaluator", "set", "attribute", "condition"]
    return table.assign(repeat=table.groupby(keys).cumcount() + 1)


def called_clear(panel: Panel, seed: int, study: int) -> tuple[int, list[float]]:
    """Count the differing sets that are called better, and return the chances at the reach."""
    from ratings.findings.differences import differences
    from ratings.statistics.planning.claim_power import claim_power, claimable_difference
    from ratings.study.attributes import Scale

    difference = claimable_difference(*panel.planned, panel.shared) or 0.0
    table = invented(panel, difference, np.random.default_rng([seed, study]))
    found = 0
    reach = []
    for number, block in enumerate(differences(table, CONTROL, Scale())):
        for place, row in enumerate(block.differences):
            found += place % panel.attributes == number and row.verdict == "better"
            if row.smallest_detectable is not None:
                reach.append(claim_power(row.smallest_detectable, *panel.planned, panel.shared))
    return found, reach


def main() -> None:
    """Print the table for as many studies a line as asked for; 200 without arguments."""
    from ratings.statistics.planning.claim_power import claim_power, claimable_difference

    studies, seed = (int(word) for word in [*sys.argv[1:], *("200", "1")[len(sys.argv) - 1 :]])
    print(
        "evaluators sets attributes conditions   points  formula   plan  called clear  at the reach"
    )
    off = []
    with ProcessPoolExecutor(len(os.sched_getaffinity(0))) as pool:
        for panel in PANELS:
            done = list(pool.map(partial(called_clear, panel, seed), range(studies), chunksize=10))
            asked = studies * (panel.sets - 1)
            share = sum(each[0] for each in done) / asked
            reach = [chance for each in done for chance in each[1]]
            off.append(share - 0.8)
            difference = claimable_difference(*panel.planned, panel.shared) or 0.0
            print(
                f"{panel.evaluators:10d} {panel.sets:4d} {panel.attributes:10d} "
                f"{panel.conditions:10d} {difference:8.2f} {'80.0 %':>8s} "
                f"{100 * claim_power(difference, *panel.planned):4.0f} % "
                f"{100 * share:11.1f} % {100 * np.mean(reach):11.1f} %",
                flush=True,
            )
    print(f"called clear beside the formula: mean {100 * np.mean(off):+.1f} points, ", end="")
    print(f"from {100 * min(off):+.1f} to {100 * max(off):+.1f}")


if __name__ == "__main__":
    main()
