"""How often evaluators are flagged who are sound, and who are not, by the hundred studies.

    python tests/benchmarks/false_flags.py [STUDIES] [SEED]

Prints a line for each design of the panel. Sound panels first: the share of evaluators flagged in
a study, and the share of studies in which anybody is. Then the share of studies in which the first
evaluator is flagged when he, the others being sound, scatters two or three times as much, turns
the scale round, gives one score to everything or scores at random; and when one single score of
his was typed six points off what the panel's means suggest, or as 1 for 7 or 2 for 7.5, whether he
is flagged, anybody, and whether that score is named as one to check. Of sound panels also: the
share of studies in which any score is to be checked; and where the second set scatters four times
as much, where scores are skewed (an exponential tail to the low side, of the same SD), where the
panel is divided over the first set by four points, and where everybody gives 7 but for a 12 %
chance of a 3, the share of studies with anybody flagged and with a score to check. The last line is
of sound evaluators whose study is looked at after every pair. 200 studies take about 20 minutes on
two cores.
"""

import os
import sys
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
from typing import NamedTuple

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
    "eight evaluators, six sets": USUAL._replace(evaluators=8, sets=6),
    "five evaluators": USUAL._replace(attributes=4, evaluators=5),
    "quiet panel": USUAL._replace(attributes=4, scatter=0.2, taste=0.1, effect=0.4),
}
ODD = ("sound", "2 x", "3 x", "backwards", "constant", "random", "one slip", "two at 3 x")
SLIPS = ("one slip", "digits")
FAULTLESS = ("noisy set", "skewed", "divided", "rare lows")
KINDS = (*ODD, "digits", *FAULTLESS)


def with_odd(panel: Panel, kind: str, rng: np.random.Generator) -> pd.DataFrame:
    """Draw a study whose first evaluator is odd in this way."""
    wild = {"2 x": (1, 2.0), "3 x": (1, 3.0), "two at 3 x": (2, 3.0)}.get(kind)
    if wild is not None:
        return invented(panel._replace(wild=wild[0], wildness=wild[1]), rng)
    if kind in FAULTLESS:
        return _faultless(panel, kind, rng)
    table = invented(panel, rng)
    first = (table["evaluator"] == "E1").to_numpy()
    scores = table.loc[first, "score"]
    means = table[first].groupby("attribute")["score"].transform("mean")
    if kind == "backwards":
        scores = _on_scale(2 * means - scores)
    elif kind == "constant":
        scores = pd.Series(7.0, index=scores.index)
    elif kind == "random":
        scores = pd.Series(rng.integers(2, 21, len(scores)) / 2, index=scores.index)
    elif kind in SLIPS:
        scores = _with_slip(scores, _suggested(table)[first], kind, rng)
    table.loc[first, "score"] = scores
    return table


def _on_scale(scores: pd.Series) -> pd.Series:
    return np.clip(np.round(scores * 2) / 2, 1.0, 10.0)


def _suggested(table: pd.DataFrame) -> pd.Series:
    """Return what the panel's mean of each cell would be at the evaluator's own level."""

    def mean(*columns: str) -> pd.Series:
        return table.groupby(list(columns))["score"].transform("mean")

    cell, level = mean("attribute", "set", "condition"), mean("attribute", "evaluator")
    return cell + level - mean("attribute")


def _with_slip(
    scores: pd.Series, suggested: pd.Series, kind: str, rng: np.random.Generator
) -> pd.Series:
    """Type one score wrongly; none where no score has room for it."""
    scores = scores.copy()
    if kind == "digits":
        places = np.flatnonzero(scores.isin([7.0, 7.5]))
        wrong = scores - np.where(scores == 7.0, 6.0, 5.5)
    else:
        places = np.flatnonzero((suggested >= 7) | (suggested <= 4))
        wrong = pd.Series(
            np.where(suggested >= 7, np.floor(2 * suggested - 12), np.ceil(2 * suggested + 12)) / 2,
            index=scores.index,
        )
    if places.size:
        place = int(rng.choice(places))
        scores.iloc[place] = wrong.iloc[place]
    return scores


def _faultless(panel: Panel, kind: str, rng: np.random.Generator) -> pd.DataFrame:
    """Draw scores of sound evaluators that are not normal, or not equally certain."""
    smooth = panel._replace(scatter=0.1 * panel.scatter) if kind == "skewed" else panel
    table = invented(smooth, rng)
    first, second = (table["set"].eq(name).to_numpy() for name in ("S1", "S2"))
    size = len(table)
    if kind == "noisy set":
        more = second * rng.normal(0.0, panel.scatter * np.sqrt(15.0), size)
    elif kind == "skewed":
        more = panel.scatter * (1.0 - rng.exponential(1.0, size))
    elif kind == "divided":
        more = -4.0 * (first & (table["evaluator"].str[1:].astype(int) % 2 == 0).to_numpy())
    else:
        more = np.where(rng.random(size) < 0.12, 3.0, 7.0) - table["score"].to_numpy()
    table["score"] = _on_scale(table["score"] + more)
    return table


class Looked(NamedTuple):
    """Who is flagged, who has a score to check, and whether it is the one typed wrongly."""

    flagged: frozenset[str]
    strays: frozenset[str]
    is_found: bool | None = None


def looked(panel: Panel, kind: str, seed: int, study: int) -> Looked:
    """Look at one study."""
    from ratings.findings.evaluator_reasons import FitnessLimits, judge_evaluators
    from ratings.findings.numbered_scores import number_scores

    draw = [seed, KINDS.index(kind), study]
    table = with_odd(panel, kind, np.random.default_rng(draw))
    found = judge_evaluators(number_scores(table), FitnessLimits(), {})
    strays = {name: look.stray for name, look in found.items() if look.stray is not None}
    is_found = None
    if kind in SLIPS:
        changed = table["score"] != invented(panel, np.random.default_rng(draw))["score"]
        rows = np.flatnonzero(changed)
        # Without room for a slip there was none to find.
        is_found = "E1" in strays and strays["E1"].row == rows[0] if rows.size else None
    return Looked(
        frozenset(name for name, look in found.items() if look.reasons), frozenset(strays), is_found
    )


def flagged_at_any_look(name: str, seed: int, study: int) -> frozenset[str]:
    """Return who is flagged after any pair, all sessions going at one pace."""
    from ratings.findings.evaluator_reasons import FitnessLimits, judge_evaluators
    from ratings.findings.numbered_scores import number_scores

    table = invented(PANELS[name], np.random.default_rng([seed, study]))
    pair, found = table["pair"].astype(int), set()
    for last in sorted(pair.unique()):
        seen = judge_evaluators(number_scores(table[pair <= last]), FitnessLimits(), {})
        found |= {evaluator for evaluator, look in seen.items() if look.reasons}
    return frozenset(found)


def _chunk(name: str, kind: str, seed: int, first: int) -> list[Looked]:
    return [looked(PANELS[name], kind, seed, first + place) for place in range(CHUNK)]


def _flag_figures(name: str, found: list[frozenset[str]]) -> list[float]:
    """Return how many evaluators of a study are flagged, and in how many studies anybody."""
    return [sum(map(len, found)) / PANELS[name].evaluators / len(found), _share(found)]


def _share(found: Sequence[object]) -> float:
    return sum(map(bool, found)) / len(found) if found else float("nan")


def _figures(name: str, kind: str, found: list[Looked]) -> list[float]:
    who = [each.flagged for each in found]
    named = _share([each.strays for each in found])
    if kind == "sound":
        return [*_flag_figures(name, who), named]
    if kind in FAULTLESS:
        return [_share(who), named]
    hits = _share(["E1" in each for each in who])
    if kind not in SLIPS:
        return [hits]
    return [hits, _share(who), _share([e.is_found for e in found if e.is_found is not None])]


def _words(figures: list[float]) -> str:
    return "".join(f" {100 * figure:6.1f}" for figure in figures)


#: Three figures of sound panels and of slips, two of faultless ones, one of each other kind.
HEADINGS = (
    *("sound", "any", "check", "2 x", "3 x", "turned", "same", "random"),
    *("slip", "any", "found", "two", "digits", "any", "found"),
    *("noisy", "check", "skewed", "check", "split", "check", "lows", "check"),
)


def main() -> None:
    """Print the table for as many studies as asked for; 200 without arguments."""
    studies, seed = (int(word) for word in [*sys.argv[1:], *("200", "1")[len(sys.argv) - 1 :]])
    print(f"{'flagged, in %':27s}" + "".join(f" {heading:>6s}" for heading in HEADINGS))
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for name in PANELS:
            print(f"{name:27s}", end="", flush=True)
            for kind in KINDS:
                work = partial(_chunk, name, kind, seed)
                parts = pool.map(work, range(0, studies, CHUNK))
                found = [each for part in parts for each in part]
                print(_words(_figures(name, kind, found)), end="", flush=True)
            print()
        name = "eight attributes, pairs"
        work = partial(flagged_at_any_look, name, seed)
        at_any_look = list(pool.map(work, range(studies), chunksize=CHUNK))
        print(f"{'looked at after each pair':27s}{_words(_flag_figures(name, at_any_look))}")


if __name__ == "__main__":
    main()
