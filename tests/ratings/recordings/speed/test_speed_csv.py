"""A table of speeds is read as it stands, or one sentence says what is wrong with it."""

from pathlib import Path

import numpy as np
import pytest

from ratings.errors import RecordingError
from ratings.recordings.speed.trace_files import read_speed_record, read_speed_trace


@pytest.mark.parametrize(
    "content",
    [
        b"time_s,speed_km_h\n0.0,80.5\n0.5,79.25\n1.0,78\n",
        b"\xef\xbb\xbftime_s;speed_km_h\r\n0,0;80,5\r\n0,5;79,25\r\n1,0;78\r\n",
        b"Time_s\tgear\tSpeed_km_h\n0\t5\t80.5\n\t\t\n0,5\t5\t79,25\n1\t\t78\n",
        "\ufefftime_s,speed_kmh\n0,80.5\n0.5,79.25\n1,78\n".encode("utf-16"),
        "Höhe,speed_km_h,time_s\n12,80.5,0\n12,79.25,0.5\n12,78,1\n".encode("latin-1"),
        b"\n\ntime_s,speed_m_s\n0,22.361111111111\n0.5,22.013888888889\n1,21.666666666667\n",
        b'"time_s","speed_mps"\n"0","22.361111111111"\n"0.5",22.013888888889\n1,21.666666666667\n',
    ],
)
def test_that_usual_ways_of_writing_a_table_give_one_trace(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "run.csv"
    path.write_bytes(content)

    trace = read_speed_trace(path)

    np.testing.assert_allclose(trace.times_s, [0.0, 0.5, 1.0])
    np.testing.assert_allclose(trace.speed_km_h, [80.5, 79.25, 78.0], rtol=1e-12)


def test_that_an_offset_moves_the_times_only(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    path.write_text("time_s,speed_m_s\n0,10\n1,11\n", encoding="utf-8")

    record = read_speed_record(path, offset_s=-0.25)

    np.testing.assert_allclose(record.trace.times_s, [-0.25, 0.75])
    np.testing.assert_allclose(record.trace.speed_km_h, [36.0, 39.6])
    assert record.remarks == ("speed given in m/s",)
    with pytest.raises(RecordingError, match="offset"):
        read_speed_record(path, offset_s=float("nan"))


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "is empty"),
        (b" \n\n", "is empty"),
        (b"\x00\x01\x02\x03", "not a text file"),
        (b"time_s,velocity\n0,1\n", "no column speed_km_h; found: 'time_s', 'velocity'"),
        (b"0.0,80\n0.1,81\n", "no column time_s and no column speed_km_h; found: '0.0', '80'"),
        (b"time_s,speed_km_h,time_s\n0,1,0\n", "column time_s 2 times"),
        (b"time_s,speed_km_h\n", "0 points"),
        (b"time_s,speed_km_h\n0,80\n", "1 point of"),
        (b"time_s,speed_km_h\n0,80\n1,fast\n", 'row 3, column speed_km_h: "fast" is not a number'),
        (b"time_s,speed_km_h\n0,80\n\n1,\n", "row 4, column speed_km_h: There is no number"),
        (b"time_s,speed_km_h\n0,80\n1\n", "row 3, column speed_km_h: There is no number"),
        (b"time_s,speed_km_h\nnan,80\n1,80\n", 'row 2, column time_s: "nan" is not a number'),
        (b"time_s,speed_km_h\n0,80\n1,inf\n", '"inf" is not a number'),
        (b"time_s,speed_km_h\n0,80\n1,81\n1,82\n", "1.000 s comes after 1.000 s (point 3)"),
        (b"time_s,speed_km_h\n0,80\n2,81\n1,82\n", "1.000 s comes after 2.000 s"),
        (b"time_s,speed_km_h\n0,80\n1,-3\n", "at 1.000 s is below zero (-3.00 km/h)"),
        (
            b"time_s,speed_km_h\n0,80\n0.1,80\n0.2,80\n0.3,80\n4.5,80\n",
            "missing for 4.2 s from 0.3 s on",
        ),
        (b"time_s,speed_km_h\n0,80\n1," + b'"' + b"8" * 200_000, "not a table"),
    ],
)
def test_that_a_wrong_table_is_one_sentence(tmp_path: Path, content: bytes, sentence: str) -> None:
    path = tmp_path / "run.csv"
    path.write_bytes(content)

    with pytest.raises(RecordingError) as refusal:
        read_speed_trace(path)

    assert sentence in refusal.value.what_happened
    assert "'run.csv'" in refusal.value.what_happened
    assert "\n" not in refusal.value.what_happened


def test_that_a_missing_file_and_a_folder_are_told(tmp_path: Path) -> None:
    with pytest.raises(RecordingError, match=r"There is no file 'no\.csv'"):
        read_speed_trace(tmp_path / "no.csv")
    with pytest.raises(RecordingError, match="is a folder"):
        read_speed_trace(tmp_path)


def test_that_an_evenly_coarse_trace_has_no_gap(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    path.write_text("time_s,speed_km_h\n0,80\n5,80\n10,80\n", encoding="utf-8")

    assert read_speed_trace(path).times_s[-1] == 10.0


def test_that_decimal_commas_between_separating_commas_are_told(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    path.write_text("time_s,speed_km_h\n0,0,80,5\n0,5,79,25\n", encoding="utf-8")
    with pytest.raises(RecordingError, match="row 2: 4 entries stand under 2 names") as refused:
        read_speed_record(path)
    assert "semicolons" in refused.value.what_happened


def test_that_separators_without_anything_behind_them_do_no_harm(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    path.write_text("time_s,speed_km_h\n0,80,,\n1,79,\n", encoding="utf-8")
    np.testing.assert_array_equal(read_speed_trace(path).speed_km_h, [80.0, 79.0])


@pytest.mark.parametrize("cell", ["1.234,5", "1,234.5"])
@pytest.mark.parametrize("separator", [";", "\t"])
def test_that_a_speed_with_two_marks_is_refused(tmp_path: Path, cell: str, separator: str) -> None:
    path = tmp_path / "run.csv"
    path.write_text(f"time_s{separator}speed_km_h\n0{separator}80\n1{separator}{cell}\n")
    with pytest.raises(RecordingError, match="row 3, column speed_km_h") as refused:
        read_speed_record(path)
    assert f'"{cell}" can be read in more than one way' in refused.value.what_happened


def test_that_a_quoted_decimal_comma_is_read_between_commas(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    path.write_text('time_s,speed_km_h\n"0,0","80,5"\n"0,5","79,25"\n', encoding="utf-8")
    np.testing.assert_array_equal(read_speed_trace(path).speed_km_h, [80.5, 79.25])
    np.testing.assert_array_equal(read_speed_trace(path).times_s, [0.0, 0.5])
