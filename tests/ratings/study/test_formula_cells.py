"""Text that looks like a formula goes through a CSV file and comes back as it was."""

import csv

import pandas as pd
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from ratings.study.formula_cells import marked, unmarked
from ratings.study.score_table import read_score_table, write_score_table

RISKY = ["=1+1", "+49", "-5 bar", "@SUM(A1)", "\tx", "\rx", "＝1", " =1", "'=1", "''@x"]
HARMLESS = ["E1", "coarse, 80 km/h", "'s road", 'a "b"', "5-6", "x\ry", "a\tb", "ü"]


@given(st.text(alphabet="=+-@\t\r\n' a,＝"))
@example("'")
def test_that_every_text_comes_back_and_nothing_marked_can_run(text):
    assert unmarked(marked(text)) == text
    assert not marked(text).lstrip().startswith(tuple("=+-@＝"))


@pytest.mark.parametrize("text", [*RISKY, *HARMLESS])
def test_that_only_risky_text_is_marked(text):
    assert marked(text) == (f"'{text}" if text in RISKY else text)


def test_that_a_table_of_risky_text_is_read_back_the_same(tmp_path):
    texts = RISKY + HARMLESS
    table = pd.DataFrame(
        {
            "evaluator": texts,
            "set": "417",
            "condition": texts[::-1],
            "attribute": "boom",
            "score": 7.0,
            "given_at": None,
            "=note": texts,
        }
    )
    path = tmp_path / "out.csv"
    write_score_table(table, path)
    with path.open(encoding="utf-8", newline="") as file:
        cells = [cell for row in csv.reader(file) for cell in row]
    assert not [cell for cell in cells if cell.startswith(tuple("=+-@\t\r＝"))]
    again = read_score_table(path)
    # Spaces around a cell never count, so that only those of marked text are kept.
    for column in ("evaluator", "condition", "=note"):
        assert again[column].tolist() == table[column].tolist(), column
    assert again["score"].tolist() == [7.0] * len(texts)
