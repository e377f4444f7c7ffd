"""Where the figures lie that tests are checked against: in the project, or beside a checkout.

What may be copied stands in `tests/references`, each folder with a README of sources. What may not
(recordings of others, tables from GPL packages) is read from `../shared/checks` where that folder
is there; the test is skipped otherwise, and every claim is held by another test that needs nothing.
"""

import csv
import json
from pathlib import Path
from typing import Any

import pytest

TOP = Path(__file__).resolve().parents[1]
COPIED = TOP / "tests" / "references"
BESIDE = TOP.parent / "shared" / "checks"


def copied(name: str) -> Any:
    """Read a JSON file of `tests/references`, such as `acoustics/iso532_annex_b`."""
    return json.loads((COPIED / f"{name}.json").read_text(encoding="utf-8"))


def copied_rows(name: str) -> list[dict[str, float]]:
    """Read a CSV file of numbers in `tests/references`; lines with # tell its source."""
    with (COPIED / f"{name}.csv").open(encoding="utf-8") as stream:
        rows = csv.DictReader(line for line in stream if not line.startswith("#"))
        return [{key: float(value) for key, value in row.items()} for row in rows]


def beside(name: str) -> Path:
    """Return a file that may not be copied into the project; skip the test where it is not."""
    path = BESIDE / name
    if not path.exists():
        pytest.skip(f"may not be copied into the project, and is not in ../shared/checks: {name}")
    return path


def case_beside(name: str) -> Any:
    """Read a statistics case that may not be copied into the project."""
    return json.loads(beside(f"statistics/{name}.json").read_text(encoding="utf-8"))
