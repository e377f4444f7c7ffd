"""Reference tables: those in the project, and those from the folder next to it."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from reference_data import case_beside, copied


@pytest.fixture
def reference() -> Callable[[str], Any]:
    """Read one of our reference files."""
    return lambda name: copied(f"statistics/{name}")


@pytest.fixture
def shared_case() -> Callable[[str], Any]:
    """Read a case that may not be copied into the project; skip when it is not there."""
    return case_beside


@pytest.fixture
def crossed_table() -> Callable[[list[list[float]]], np.ndarray]:
    """Turn rows of set, evaluator, score (numbered from 1) into a table with holes."""

    def fill(rows: list[list[float]]) -> np.ndarray:
        sets, evaluators = (int(max(row[i] for row in rows)) for i in (0, 1))
        table = np.full((evaluators, sets), np.nan)
        for set_, evaluator, score in rows:
            table[int(evaluator) - 1, int(set_) - 1] = score
        return table

    return fill
