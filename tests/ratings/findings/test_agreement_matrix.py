"""W by attribute and condition, with its marks."""

import numpy as np
import pandas as pd

from ratings.findings.agreement import agreement
from ratings.findings.agreement_matrix import agreement_matrix
from ratings.study.attributes import Scale

ORDER = np.arange(4.0)
NAMES = {"cavity_ring": "Cavity ring"}


def blocks():
    """Six of one order in C1; one of them the other way round in C2; hiss in C1 alone, flat."""
    same = np.tile(ORDER, (6, 1)) + np.random.default_rng(2).choice([0, 0.25], (6, 4))
    apart = np.vstack([same[:5], 3 - ORDER])
    rows = [
        (f"E{e}", f"S{s}", condition, attribute, 5 + score)
        for attribute, condition, scores in (
            ("cavity_ring", "C1", same),
            ("cavity_ring", "C2", apart),
            ("hiss", "C1", np.zeros((6, 4))),
        )
        for (e, s), score in np.ndenumerate(scores)
    ]
    columns = ["evaluator", "set", "condition", "attribute", "score"]
    return agreement(pd.DataFrame(rows, columns=columns), Scale())


def test_that_the_matrix_marks_what_is_above_chance_and_how_surely():
    heading, ring, hiss = agreement_matrix(blocks(), NAMES, ["C2", "C1"])
    assert heading == ("attribute", "all conditions", "C2", "C1")
    assert ring[0] == "Cavity ring"
    assert ring[2].endswith(" (*)  (6 × 4)")
    assert ring[3] == "1.00 *  (6 × 4)"
    assert hiss == ("hiss", "–", "–", "–")
