"""Time for the whole verdict with Kenward-Roger, beside another library, and how it grows."""

import time
import warnings

import pandas as pd
from bench_agreement import best_of, invented_table, with_holes

from ratings.findings.differences import differences
from ratings.study.attributes import Scale


def by_statsmodels(table: pd.DataFrame) -> int:
    """Fit the same model to every attribute; no denominator degrees of freedom, no adjustment."""
    import statsmodels.formula.api as smf

    failed = 0
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for _, part in table.groupby("attribute"):
            fitted = smf.mixedlm(
                "score ~ C(set)",
                part,
                groups="evaluator",
                re_formula="1",
                vc_formula={"set": "0 + C(set)"},
            ).fit(reml=True)
            failed += not fitted.converged
    return failed


def main() -> None:
    """Print the figures."""
    table = invented_table(3)
    start = time.perf_counter()
    differences(table, "S1", Scale())
    print(f"first call, libraries loading: {time.perf_counter() - start:.3f} s")
    ours = best_of(7, lambda: differences(table, "S1", Scale()))
    print(f"{len(table)} scores, the whole verdict: {ours:.3f} s (aim 0.2 s)")
    holes = with_holes(table)
    duration = best_of(3, lambda: differences(holes, "S1", Scale()))
    print(f"the same with holes: {duration:.3f} s")
    failed = by_statsmodels(table)
    theirs = best_of(2, lambda: by_statsmodels(table))
    print(
        f"statsmodels MixedLM, the fits alone: {theirs:.3f} s, {theirs / ours:.1f} times ours; "
        f"{failed} of 8 did not converge"
    )
    for repeats in (5, 52, 521):
        large = invented_table(repeats)
        duration = best_of(2, lambda large=large: differences(large, "S1", Scale()))
        print(
            f"{len(large):>8} scores: {duration:.3f} s, {1e6 * duration / len(large):.2f} us each"
        )


if __name__ == "__main__":
    main()
