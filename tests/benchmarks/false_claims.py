"""How often the program claims what is not there, and finds what is, on invented panels.

    python tests/benchmarks/false_claims.py [STUDIES] [SEED] [--panel NAME ...]

Prints a line for each design of the panel. Of what is not there: the share of sets on an attribute
that are called better or worse, over all conditions or in one; of studies in which that happens; of
attributes on which the panel is said to agree, and of studies in which that happens. Where somebody
looks after every evaluator from the third on, a study counts if any look claims a set, each look
being judged as if it were the only one. Of what is there: the share of sets that are found, and of
attributes on which the panel is said to agree.
"""

import argparse
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
WAYS = {"better": 1, "worse": -1}
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
    effects
        True difference of each set from the control, on the first half of the attributes.
    swing
        By so much the second set is better in the first condition and worse in the second, on
        the attribute after them.
    is_looked_at
        Whether somebody looks after every evaluator from the third on.
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
    effects: tuple[float, ...] = ()
    swing: float = 0.0
    rated: str = "all"
    is_paired: bool = False
    wildness: float = 3.0
    effect: float = 0.0
    alike: float = 0.0
    hidden: bool = False
    is_looked_at: bool = False


#: Small, middling and no differences, one that depends on the condition, one unreliable evaluator.
_REAL = Panel(attributes=4, use=0.25, wild=1, effects=(0.0, 1.2, -0.8, 0.0), swing=1.5)

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
    "looked at eight times": Panel(evaluators=10, conditions=1, is_looked_at=True),
    "sharper than the steps": Panel(conditions=1, taste=0.0, scatter=0.25),
    "eight attributes, scores": Panel(attributes=8),
    "real differences, pairs": _REAL._replace(is_paired=True),
    "real differences, scores": _REAL,
}


def truth(panel: Panel) -> Array:
    """Return the true difference from the control, shape (attributes, sets, conditions)."""
    true = np.zeros((panel.attributes, panel.sets, panel.conditions))
    if panel.effects:
        half = panel.attributes // 2
        true[:half] = np.array(panel.effects)[:, None]
        true[half, 1, :2] = panel.swing, -panel.swing
    return true


def invented(panel: Panel, rng: np.random.Generator) -> pd.DataFrame:
    """Draw the scores of one study, in half points on a scale from 1 to 10."""
    rows = []
    true = truth(panel)
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
                    own += true[attribute, heard, condition]
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


class Counts(NamedTuple):
    """What was claimed in some studies: of the null and of the true, and how many there were."""

    null_sets: int = 0
    null_sets_claimed: int = 0
    true_sets: int = 0
    true_sets_claimed: int = 0
    null_attributes: int = 0
    null_attributes_claimed: int = 0
    true_attributes: int = 0
    true_attributes_claimed: int = 0
    studies: int = 0
    studies_claimed: int = 0
    studies_agreed: int = 0


def judged(panel: Panel, seed: int, study: int) -> Counts:
    """Judge one study as the program does, against what is true of it."""
    table = invented(panel, np.random.default_rng([seed, study]))
    right, wrong, null = _sets(panel, table)
    agreed, agreed_wrongly, flat = _attributes(panel, table)
    if panel.is_looked_at:
        people = sorted(table["evaluator"].unique())
        looks = [table[table["evaluator"].isin(people[:count])] for count in range(3, len(people))]
        wrong = max(wrong, *(_sets(panel, look)[1] for look in looks))
    return Counts(
        null_sets=null,
        null_sets_claimed=wrong,
        true_sets=panel.attributes * (panel.sets - 1) - null,
        true_sets_claimed=right,
        null_attributes=flat,
        null_attributes_claimed=agreed_wrongly,
        true_attributes=panel.attributes - flat,
        true_attributes_claimed=agreed,
        studies=1,
        studies_claimed=wrong > 0,
        studies_agreed=agreed_wrongly > 0,
    )


def _sets(panel: Panel, table: pd.DataFrame) -> tuple[int, int, int]:
    """Count sets claimed rightly and wrongly, and those on which there is nothing to claim."""
    from ratings.findings.differences import differences
    from ratings.findings.differences_words import claims_by_condition
    from ratings.study.attributes import Scale

    true, right, wrong, null = truth(panel), 0, 0, 0
    for block in differences(table, CONTROL, Scale()):
        for row in block.differences:
            own = true[int(block.attribute[1:]) - 1, int(row.set[1:]) - 1]
            ways = [(row.verdict, own.mean())] if row.verdict in WAYS else []
            if row.verdict == "by condition":
                single = claims_by_condition(row)
                ways = [(way, own[int(name[1:]) - 1]) for name, way in single]
            is_wrong = any(WAYS[way] != np.sign(value) for way, value in ways)
            is_null = not own.any()
            wrong += is_wrong
            right += bool(ways) and not is_wrong
            null += is_null
    return right, wrong, null


def _attributes(panel: Panel, table: pd.DataFrame) -> tuple[int, int, int]:
    """Count attributes agreed on rightly and wrongly, and those with nothing to agree on."""
    from ratings.findings.agreement import agreement
    from ratings.study.attributes import Scale

    true, right, wrong, null = truth(panel), 0, 0, 0
    for block in agreement(table, Scale()):
        if block.condition is None:
            is_null = not true[int(block.attribute[1:]) - 1].any()
            claimed = bool(block.agrees or block.agrees_in)
            null += is_null
            wrong += claimed and is_null
            right += claimed and not is_null
    return right, wrong, null


def _chunk(name: str, seed: int, first: int) -> list[Counts]:
    return [judged(PANELS[name], seed, first + place) for place in range(CHUNK)]


def _share(part: int, whole: int) -> str:
    return f"{100 * part / whole:9.1f} %" if whole else f"{'-':>11s}"


def main() -> None:
    """Print the table for as many studies as asked for; 1,000 without arguments."""
    parser = argparse.ArgumentParser(description=main.__doc__)
    parser.add_argument("studies", type=int, nargs="?", default=1000)
    parser.add_argument("seed", type=int, nargs="?", default=1)
    parser.add_argument("--panel", nargs="+", choices=PANELS, default=list(PANELS))
    asked = parser.parse_args()
    studies, seed = asked.studies, asked.seed
    heads = "sets", "studies", "agree on", "studies", "sets", "agree on"
    print(f"{'':26s}{'claimed where nothing is':>44s}{'found':>22s}")
    print(f"{'panel':26s}{''.join(f'{head:>11s}' for head in heads)}")
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for name in asked.panel:
            firsts = range(0, studies, CHUNK)
            done = [each for part in pool.map(partial(_chunk, name, seed), firsts) for each in part]
            found = Counts(*(sum(column) for column in zip(*done, strict=True)))
            shares = (
                _share(found.null_sets_claimed, found.null_sets),
                _share(found.studies_claimed, found.studies),
                _share(found.null_attributes_claimed, found.null_attributes),
                _share(found.studies_agreed, found.studies),
                _share(found.true_sets_claimed, found.true_sets),
                _share(found.true_attributes_claimed, found.true_attributes),
            )
            print(f"{name:26s}{''.join(shares)}", flush=True)


if __name__ == "__main__":
    main()
