"""Time for everything the agreement page shows, beside another library, and how it grows."""

import time
import warnings

import numpy as np
import pandas as pd

from ratings.findings.agreement import agreement
from ratings.study.attributes import Scale

EVALUATORS, SETS, ATTRIBUTES = 20, 12, 8


def invented_table(repeats: int) -> pd.DataFrame:
    """Scores of an invented panel in quarter points."""
    generator = np.random.default_rng(11)
    shape = ATTRIBUTES, EVALUATORS, SETS, repeats
    attribute, evaluator, set_, repeat = np.indices(shape).reshape(4, -1)
    scores = (
        generator.normal(6, 1, (ATTRIBUTES, SETS))[attribute, set_]
        + generator.normal(0, 0.5, (ATTRIBUTES, EVALUATORS))[attribute, evaluator]
        + generator.normal(0, 0.4, shape[:3])[attribute, evaluator, set_]
        + generator.normal(0, 0.4, attribute.size)
    )
    return pd.DataFrame(
        {
            "evaluator": np.char.add("E", (evaluator + 1).astype(str)),
            "set": np.char.add("S", (set_ + 1).astype(str)),
            "attribute": np.char.add("attribute ", (attribute + 1).astype(str)),
            "repeat": repeat + 1,
            "score": np.clip(np.round(scores * 4) / 4, 1, 10),
        }
    )


def best_of(times: int, work) -> float:
    """Shortest of several runs, in seconds."""
    durations = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        durations.append(time.perf_counter() - start)
    return min(durations)


def by_pingouin(table: pd.DataFrame) -> None:
    """Six intraclass correlations per attribute, a part of what the page shows."""
    import pingouin

    averages = table.groupby(["attribute", "evaluator", "set"], as_index=False)["score"].mean()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for _, part in averages.groupby("attribute"):
            pingouin.intraclass_corr(part, targets="set", raters="evaluator", ratings="score")


def with_holes(table: pd.DataFrame) -> pd.DataFrame:
    """Take out every 17th cell, so that components are fitted iteratively."""
    cell = table.groupby(["attribute", "evaluator", "set"], sort=False).ngroup()
    return table[cell % 17 != 0]


def main() -> None:
    """Print the figures."""
    table = invented_table(3)
    start = time.perf_counter()
    agreement(table, Scale())
    print(f"first call, libraries loading: {time.perf_counter() - start:.3f} s")
    ours = best_of(7, lambda: agreement(table, Scale()))
    print(f"{len(table)} scores, everything on the page: {ours:.3f} s (aim 0.1 s)")
    holes = with_holes(table)
    print(f"the same with holes: {best_of(3, lambda: agreement(holes, Scale())):.3f} s")
    by_pingouin(table)
    theirs = best_of(3, lambda: by_pingouin(table))
    print(
        f"pingouin, intraclass correlations alone: {theirs:.3f} s, {theirs / ours:.1f} times ours"
    )
    for repeats in (5, 52, 521):
        large = invented_table(repeats)
        duration = best_of(2, lambda large=large: agreement(large, Scale()))
        print(
            f"{len(large):>8} scores: {duration:.3f} s, {1e6 * duration / len(large):.2f} us each"
        )


if __name__ == "__main__":
    main()
