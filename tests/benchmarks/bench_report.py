"""Speed of the verdict and of the report, beside the mixed models of statsmodels.

    python tests/benchmarks/bench_report.py

A study of 20 evaluators, 12 sets, 8 attributes and 3 repeats, without recordings.
The other program fits one mixed model for each attribute, and nothing else of a verdict.
"""

import sys
import time
import warnings
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pandas as pd

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parents[1])]

EVALUATORS, SETS, ATTRIBUTES, REPEATS, CONDITIONS = 20, 12, 8, 3, 1


def main() -> None:
    """Print seconds and ratios."""
    from generated_studies import question

    from ratings.findings.verdict.judging import judge
    from ratings.reports.as_html import html_of
    from ratings.reports.as_pdf import pdf_of
    from ratings.reports.study_report.material import Material
    from ratings.reports.study_report.report import study_document
    from ratings.storage.blind_study import StudyFacts
    from ratings.storage.key import BlindnessLog
    from ratings.study.attributes import Attribute, Scale

    table = _table()
    attributes = tuple(Attribute(f"a{n}", f"Attribute {n}", "-") for n in range(ATTRIBUTES))
    asked = replace(
        question("nothing measured", 1),
        scores=table,
        codes=("101", *(str(201 + n) for n in range(SETS - 1))),
        attributes=attributes,
        conditions=tuple(f"condition {n}" for n in range(CONDITIONS)),
        seats=(),
    )
    verdict = judge(asked)
    seconds = min(_seconds(lambda: judge(asked)) for _ in range(5))
    other = _seconds(lambda: _statsmodels(table))
    print(f"verdict                       {seconds:7.3f} s")
    print(f"mixed models of statsmodels   {other:7.3f} s, {other / seconds:.1f} times as long")
    now = datetime(2031, 5, 4, tzinfo=UTC)
    facts = StudyFacts("Bench", "", "", is_invented=True, scale=Scale(), created_at=now)
    log = BlindnessLog((), (), shares_clips=False, runs_added=(), later_scores=())
    material = Material(facts, verdict, now, log)
    document = study_document(material)
    for words, work in (
        ("report put together", lambda: study_document(material)),
        ("as HTML", lambda: html_of(document)),
        ("as PDF, the first time", lambda: pdf_of(document)),
        ("as PDF, again", lambda: pdf_of(document)),
    ):
        print(f"{words:30}{_seconds(work):7.3f} s")


def _seconds(work) -> float:
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def _table() -> pd.DataFrame:
    rng = np.random.default_rng(1)
    shape = (EVALUATORS, SETS, ATTRIBUTES, CONDITIONS, REPEATS)
    score = 6.5 + rng.normal(0, 0.6, (EVALUATORS, 1, 1, 1, 1))
    score = score + rng.normal(0, 0.5, (1, SETS, ATTRIBUTES, 1, 1))
    score = score + rng.normal(0, 0.3, (EVALUATORS, SETS, ATTRIBUTES, 1, 1))
    score = np.clip(np.round(4 * (score + rng.normal(0, 0.5, shape))) / 4, 1, 10)
    places = [each.ravel() for each in np.indices(shape)]
    return pd.DataFrame(
        {
            "evaluator": [f"E{n + 1}" for n in places[0]],
            "set": [str(200 + n) if n else "101" for n in places[1]],
            "attribute": [f"a{n}" for n in places[2]],
            "condition": [f"condition {n}" for n in places[3]],
            "repeat": places[4] + 1,
            "score": score.ravel(),
        }
    )


def _statsmodels(table: pd.DataFrame) -> None:
    import statsmodels.formula.api as smf

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for _, rows in table.groupby("attribute"):
            terms = {"evaluator_set": "0 + C(set)"}
            model = smf.mixedlm(
                "score ~ C(set) + C(condition)", rows, groups="evaluator", vc_formula=terms
            )
            model.fit()


if __name__ == "__main__":
    main()
