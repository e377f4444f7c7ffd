"""Reference tables: ours beside the tests, the others from the folder next to the project."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

TOP = Path(__file__).resolve().parents[3]
OURS = TOP / "tests" / "references" / "statistics"
BESIDE = TOP / ".." / "shared" / "checks" / "statistics"


@pytest.fixture
def reference() -> Callable[[str], Any]:
    """Read one of our reference files."""
    return lambda name: json.loads((OURS / f"{name}.json").read_text(encoding="utf-8"))


@pytest.fixture
def shared_case() -> Callable[[str], Any]:
    """Read a case that may not be copied into the project; skip when it is not there."""

    def read(name: str) -> Any:
        path = BESIDE / f"{name}.json"
        if not path.exists():
            pytest.skip(f"the reference case {name} is not beside the project")
        return json.loads(path.read_text(encoding="utf-8"))

    return read


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
