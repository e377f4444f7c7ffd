"""How often the program claims what is not there: panels on which no set differs, by the thousand.

    python tests/benchmarks/false_claims.py [STUDIES] [SEED]

Prints a line for each design of the panel: the share of comparisons of one set on one attribute
that are called better or worse, and the share of studies whose headline claims anything.
"""

import os
import sys
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parents[1])]

Array = npt.NDArray[np.float64]

CONTROL = "S1"
CHUNK = 10


class Panel(NamedTuple):
    """A panel on which no set differs; standard deviations in score points.

    Attributes
    ----------
    taste
        Of an evaluator's own opinion of a set: it is his, and no difference between the sets.
    use
        Of how far apart evaluators spread their scores, as a factor around one.
    wild, wildness
        How many evaluators scatter more, and by which factor.
    rated
        Which sets each evaluator rates: ``all``, ``one`` (the first rates all, the others the
        control alone) or ``own`` (the control, and a candidate that nobody else rates).
    effect
        Of the true differences between the sets; above zero it is no null panel any more.
    alike
        Share of effect, taste and scatter that all attributes have in common.
    hidden
        Whether each session hides a null pair and a repeated pair.
    """

    evaluators: int = 6
    sets: int = 4
    conditions: int = 3
    repeats: int = 1
    attributes: int = 1
    level: float = 0.8
    taste: float = 0.4
    scatter: float = 0.7
    use: float = 0.0
    wild: int = 0
    rated: str = "all"
    is_paired: bool = False
    wildness: float = 3.0
    effect: float = 0.0
    alike: float = 0.0
    hidden: bool = False


PANELS = {
    "usual, in pairs": Panel(is_paired=True, attributes=4, use=0.25, wild=1),
    "usual, scores": Panel(attributes=4, use=0.25, wild=1),
    "no own taste, pairs": Panel(is_paired=True, taste=0.0, repeats=2),
    "no own taste, scores": Panel(taste=0.0, repeats=2),
    "strong own taste, pairs": Panel(is_paired=True, taste=1.2),
    "three evaluators": Panel(evaluators=3, is_paired=True),
    "two evaluators": Panel(evaluators=2, is_paired=True),
    "two sets, repeats": Panel(sets=2, conditions=1, repeats=4, taste=0.3, scatter=1.2),
    "one rated all": Panel(rated="one"),
    "a candidate each": Panel(evaluators=5, sets=4, rated="own"),
}


def invented(panel: Panel, rng: np.random.Generator) -> pd.DataFrame:
    """Draw the scores of one study, in half points on a scale from 1 to 10."""
    rows = []
    # What a null panel does not need is drawn apart, so that its own draws stay as they were.
    more = rng.spawn(1)[0]
    spread = np.exp(rng.normal(0.0, panel.use, panel.evaluators))
    factor = np.where(np.arange(panel.evaluators) < panel.wild, panel.wildness, 1.0)
    scatter = factor * panel.scatter
    heard_pairs = _heard_pairs(panel)
    shared_taste, shared_effects, shared_noise = _shared(panel, more, len(heard_pairs))
    keep = float(np.sqrt(1.0 - panel.alike))
    for attribute in range(panel.attributes):
        level = rng.normal(6.5, panel.level, panel.evaluators)
        taste = rng.normal(0.0, panel.taste, (panel.evaluators, panel.sets))
        effects = more.normal(0.0, panel.effect, panel.sets)
        opinion = keep * (taste + effects) + shared_taste + shared_effects
        for evaluator in range(panel.evaluators):
            for pair, (condition, repeat, set_, role) in enumerate(heard_pairs):
                sides = ("A", 0), ("B", set_)
                if not panel.is_paired:
                    sides = (("", set_),)
                elif (condition + repeat + set_ + evaluator) % 2:
                    sides = ("A", set_), ("B", 0)
                for place, (side, heard) in enumerate(sides):
                    if not _is_rated(panel, evaluator, heard):
                        continue
                    noise = keep * rng.normal() + shared_noise[evaluator, pair, place]
                    own = opinion[evaluator, heard] + scatter[evaluator] * noise
                    score = level[evaluator] + spread[evaluator] * own
                    where = evaluator, heard, attribute, condition, repeat, pair
                    rows.append((*where, side, role, score))
    return _as_table(panel, rows)


def _heard_pairs(panel: Panel) -> list[tuple[int, int, int, str]]:
    """Return condition, repeat, set and role of all that an evaluator hears, in order."""
    heard = [
        (condition, repeat, set_, "candidate")
        for condition in range(panel.conditions)
        for repeat in range(panel.repeats)
        for set_ in range(1 if panel.is_paired else 0, panel.sets)
    ]
    return heard + ([(0, 0, 0, "null"), (0, 0, 1, "repeat")] if panel.hidden else [])


def _shared(panel: Panel, rng: np.random.Generator, pairs: int) -> tuple[Array, Array, Array]:
    """Draw what all attributes have in common: taste, effect and noise."""
    share = np.sqrt(panel.alike)
    return (
        share * rng.normal(0.0, panel.taste, (panel.evaluators, panel.sets)),
        share * rng.normal(0.0, panel.effect, panel.sets),
        share * rng.normal(0.0, 1.0, (panel.evaluators, pairs, 2)),
    )


def _as_table(panel: Panel, rows: list[tuple[object, ...]]) -> pd.DataFrame:
    names = ["evaluator", "set", "attribute", "condition", "repeat", "pair", "side", "role"]
    table = pd.DataFrame(rows, columns=[*names, "score"])
    table["score"] = np.clip(np.round(table["score"] * 2) / 2, 1.0, 10.0)
    for name, letter in (("evaluator", "E"), ("set", "S"), ("attribute", "A"), ("condition", "C")):
        table[name] = letter + (table[name] + 1).astype(str)
    table["repeat"] += 1
    if not panel.is_paired:
        return table.drop(columns=["pair", "side", "role"])
    table["repeat"] = table.groupby(["evaluator", "set", "attribute", "condition"]).cumcount() + 1
    return table if panel.hidden else table.drop(columns="role")


def _is_rated(panel: Panel, evaluator: int, set_: int) -> bool:
    if panel.rated == "all" or set_ == 0:
        return True
    return evaluator == 0 if panel.rated == "one" else set_ == 1 + evaluator % (panel.sets - 1)


def claims(panel: Panel, seed: int, study: int) -> tuple[int, int, bool]:
    """Count the comparisons that are claimed, all comparisons, and whether the headline claims."""
    from ratings.findings.differences import differences
    from ratings.findings.differences_words import headline
    from ratings.study.attributes import Scale

    table = invented(panel, np.random.default_rng([seed, study]))
    found = differences(table, CONTROL, Scale())
    told = [each.verdict for block in found for each in block.differences]
    claimed = sum(verdict in ("better", "worse", "by condition") for verdict in told)
    return claimed, len(told), headline(found).startswith("Against")


def _chunk(name: str, seed: int, first: int) -> list[tuple[int, int, bool]]:
    return [claims(PANELS[name], seed, first + place) for place in range(CHUNK)]


def main() -> None:
    """Print the table for as many studies as asked for; 1,000 without arguments."""
    studies, seed = (int(word) for word in [*sys.argv[1:], *("1000", "1")[len(sys.argv) - 1 :]])
    print(f"{'panel':26s} {'sets claimed':>14s} {'headlines':>14s}")
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for name in PANELS:
            firsts = range(0, studies, CHUNK)
            done = [each for part in pool.map(partial(_chunk, name, seed), firsts) for each in part]
            claimed, asked = (sum(each[place] for each in done) for place in (0, 1))
            heads = sum(each[2] for each in done)
            print(
                f"{name:26s} {100 * claimed / asked:12.1f} % {100 * heads / len(done):12.1f} %",
                flush=True,
            )


if __name__ == "__main__":
    main()
