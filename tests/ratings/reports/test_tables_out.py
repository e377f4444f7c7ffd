import io
import sys

import pandas as pd
import pytest

from ratings.errors import RatingsError
from ratings.reports.tables_out import parquet_of, write_tables
from ratings.study.score_table import read_score_table

SCORES = pd.DataFrame(
    {
        "evaluator": ["E1", "E2"],
        "set": ["=1+1", "202"],
        "attribute": ["boom", "boom"],
        "repeat": [1, 2],
        "score": [7.25, 4.0],
        "after_opening": [True, False],
    }
)
LEVELS = pd.DataFrame(
    {
        "set": ["101", "202"],
        "run": [1, 2],
        "figure": ["level", "level"],
        "value": [61.5, float("nan")],
    }
)
LEVELS.attrs["sound_field"] = "diffuse"
BOTH = {"scores": SCORES, "measurements": LEVELS}


def test_that_both_tables_are_written_in_both_forms_and_read_back(tmp_path):
    written = write_tables(BOTH, tmp_path)
    names = ["scores.csv", "measurements.csv", "scores.parquet", "measurements.parquet"]
    assert [path.name for path in written] == names
    read = read_score_table(tmp_path / "scores.csv")
    assert read["score"].tolist() == [7.25, 4.0]
    assert read["set"].tolist() == ["=1+1", "202"]
    assert pd.read_csv(tmp_path / "measurements.csv")["value"].tolist()[0] == 61.5
    kept = pd.read_parquet(tmp_path / "scores.parquet")
    pd.testing.assert_frame_equal(kept, SCORES)


def test_that_parquet_keeps_numbers_nulls_and_the_sound_field():
    from pyarrow import parquet

    table = parquet.read_table(io.BytesIO(parquet_of(LEVELS)))
    assert [str(kind) for kind in table.schema.types][3] == "double"
    assert table.column("value").to_pylist() == [61.5, None]
    assert table.schema.metadata[b"sound_field"] == b"diffuse"


def test_that_the_same_table_gives_the_same_bytes_and_no_version_of_pandas():
    assert parquet_of(LEVELS.copy()) == parquet_of(LEVELS)
    assert b"pandas_version" not in parquet_of(LEVELS)


def test_that_an_empty_table_can_be_written():
    assert pd.read_parquet(io.BytesIO(parquet_of(SCORES.iloc[:0]))).columns.tolist() == list(SCORES)


def test_that_csv_is_there_when_arrow_is_not_installed(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(RatingsError, match="pyarrow, which is not installed"):
        write_tables(BOTH, tmp_path)
    assert (tmp_path / "scores.csv").exists()
    assert (tmp_path / "measurements.csv").exists()
    assert not (tmp_path / "scores.parquet").exists()
