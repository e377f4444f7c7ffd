"""How often evaluators are flagged who are sound, and who are not, by the hundred studies.

    python tests/benchmarks/false_flags.py [STUDIES] [SEED]

Prints a line for each design of the panel. Sound panels first: the share of evaluators flagged in
a study, and the share of studies in which anybody is. Then the share of studies in which the first
evaluator is flagged when he, the others being sound, scatters two or three times as much, turns
the scale round, gives one score to everything or scores at random; and when one single score of
his was typed wrongly, whether he is flagged or anybody. The last line is of sound evaluators whose
study is looked at after every pair. 200 studies take about 10 minutes on two cores.
"""

import os
import sys
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

import numpy as np
import pandas as pd

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parents[1])]

from benchmarks.false_claims import CHUNK, Panel, invented  # noqa: E402 (found by the path above)

USUAL = Panel(use=0.25, effect=0.8)
PANELS = {
    "eight attributes, scores": USUAL._replace(attributes=8),
    "eight attributes, pairs": USUAL._replace(attributes=8, is_paired=True, hidden=True),
    "alike attributes, pairs": USUAL._replace(attributes=8, is_paired=True, hidden=True, alike=0.5),
    "one attribute, scores": USUAL,
    "one attribute, repeats": USUAL._replace(repeats=2),
    "one attribute, pairs": USUAL._replace(is_paired=True, hidden=True),
    "one condition, no repeats": USUAL._replace(attributes=4, conditions=1),
    "four evaluators": USUAL._replace(attributes=4, evaluators=4),
    "ten evaluators": USUAL._replace(attributes=4, evaluators=10),
    "strong own taste": USUAL._replace(attributes=4, taste=1.2),
    "great differences of use": USUAL._replace(attributes=4, use=0.4),
    "sets do not differ": USUAL._replace(attributes=4, effect=0.0),
    "quiet panel": USUAL._replace(attributes=4, scatter=0.2, taste=0.1, effect=0.4),
}
ODD = ("sound", "2 x", "3 x", "backwards", "constant", "random", "one slip", "two at 3 x")


def with_odd(panel: Panel, kind: str, rng: np.random.Generator) -> pd.DataFrame:
    """Draw a study whose first evaluator is odd in this way."""
    wild = {"2 x": (1, 2.0), "3 x": (1, 3.0), "two at 3 x": (2, 3.0)}.get(kind)
    if wild is not None:
        return invented(panel._replace(wild=wild[0], wildness=wild[1]), rng)
    table = invented(panel, rng)
    first = (table["evaluator"] == "E1").to_numpy()
    scores = table.loc[first, "score"]
    means = table[first].groupby("attribute")["score"].transform("mean")
    if kind == "backwards":
        scores = np.clip(np.round((2 * means - scores) * 2) / 2, 1.0, 10.0)
    elif kind == "constant":
        scores = pd.Series(7.0, index=scores.index)
    elif kind == "random":
        scores = pd.Series(rng.integers(2, 21, len(scores)) / 2, index=scores.index)
    elif kind == "one slip":
        scores = scores.copy()
        place = int(rng.integers(len(scores)))
        scores.iloc[place] = 1.0 if scores.iloc[place] > 5 else 10.0
    table.loc[first, "score"] = scores
    return table


def flagged(panel: Panel, kind: str, seed: int, study: int) -> frozenset[str]:
    """Return who is flagged."""
    from ratings.findings.evaluator_reasons import FitnessLimits, looks
    from ratings.findings.numbered_scores import number_scores

    table = with_odd(panel, kind, np.random.default_rng([seed, ODD.index(kind), study]))
    found = looks(number_scores(table), FitnessLimits(), {})
    return frozenset(name for name, look in found.items() if look.reasons)


def flagged_at_any_look(name: str, seed: int, study: int) -> frozenset[str]:
    """Return who is flagged after any pair, all sessions going at one pace."""
    from ratings.findings.evaluator_reasons import FitnessLimits, looks
    from ratings.findings.numbered_scores import number_scores

    table = invented(PANELS[name], np.random.default_rng([seed, study]))
    pair, found = table["pair"].astype(int), set()
    for last in sorted(pair.unique()):
        seen = looks(number_scores(table[pair <= last]), FitnessLimits(), {})
        found |= {evaluator for evaluator, look in seen.items() if look.reasons}
    return frozenset(found)


def _chunk(name: str, kind: str, seed: int, first: int) -> list[frozenset[str]]:
    return [flagged(PANELS[name], kind, seed, first + place) for place in range(CHUNK)]


def _figures(name: str, kind: str, found: list[frozenset[str]]) -> str:
    if kind == "sound":
        evaluators = PANELS[name].evaluators * len(found)
        each, any_ = sum(map(len, found)) / evaluators, sum(map(bool, found)) / len(found)
        return f"{100 * each:8.1f} {100 * any_:8.1f}"
    hits = sum("E1" in who for who in found) / len(found)
    if kind == "one slip":
        return f"{100 * hits:8.1f} {100 * sum(map(bool, found)) / len(found):8.1f}"
    return f"{100 * hits:8.1f}"


def main() -> None:
    """Print the table for as many studies as asked for; 200 without arguments."""
    studies, seed = (int(word) for word in [*sys.argv[1:], *("200", "1")[len(sys.argv) - 1 :]])
    headings = ("sound", "any", "2 x", "3 x", "turned", "constant", "random", "slip", "any", "two")
    print(f"{'flagged, in %':26s} " + " ".join(f"{heading:>8s}" for heading in headings))
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for name in PANELS:
            print(f"{name:26s}", end="", flush=True)
            for kind in ODD:
                work = partial(_chunk, name, kind, seed)
                parts = pool.map(work, range(0, studies, CHUNK))
                found = [each for part in parts for each in part]
                print(f" {_figures(name, kind, found)}", end="", flush=True)
            print()
        name = "eight attributes, pairs"
        work = partial(flagged_at_any_look, name, seed)
        found = list(pool.map(work, range(studies), chunksize=CHUNK))
        print(f"{'looked at after each pair':26s} {_figures(name, 'sound', found)}")


if __name__ == "__main__":
    main()
