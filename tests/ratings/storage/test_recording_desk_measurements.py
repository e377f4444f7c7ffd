import math
from datetime import UTC, datetime

import numpy as np
import pytest
from kept_figures import FIGURES
from studies import raw_database, write_noise

from ratings.errors import MeasurementError, StudyError
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.recording_desk import RecordingDesk
from ratings.study.bands import DEFAULT_BANDS, Band
from ratings.study.figures import EARS, Figure, Remark
from ratings.study.runs import ChannelSetting, NewRun


def test_that_bands_get_a_version_only_when_they_change(desk):
    assert desk.band_table() == DEFAULT_BANDS
    assert desk.change_bands(DEFAULT_BANDS.bands).version == 2
    other = (Band("whine", "Whine", 900.0, 1400.0), *DEFAULT_BANDS.bands[:2])
    assert desk.change_bands(other).version == 3
    assert desk.band_table().bands == other
    assert desk.change_bands(()).version == 4
    assert desk.band_table().bands == ()
    assert desk.change_bands(DEFAULT_BANDS.bands).version == 5
    with pytest.raises(MeasurementError, match="not a range"):
        desk.change_bands((Band("low", "Low", 100.0, 20.0),))
    assert desk.band_table().version == 5


def test_that_a_measurement_comes_back_with_undefined_and_silent_values(study, desk, first):
    desk.keep_measurement(first, FIGURES, (), {"field": "diffuse"}, {}, 1)
    table = desk.measurement_table()
    assert list(table.columns) == ["set", "condition", "run", "channel", "figure", "unit", "value"]
    assert table["channel"].tolist() == ["1", "2", EARS]
    assert table["figure"].tolist() == ["leq_a", "leq_a", "cavity_line_hz"]
    assert table["unit"].tolist() == ["dB(A)", "dB(A)", "Hz"]
    assert table["value"].tolist()[:2] == [61.2, -math.inf]
    assert math.isnan(table["value"].tolist()[2])
    (run,) = [each for each in desk.runs() if each.recording_id == first]
    assert set(table["set"]) == {run.set_code}
    assert set(table["condition"]) == {run.condition.title}
    assert set(table["run"]) == {1}
    raw = raw_database(study.folder)
    assert raw.execute("SELECT COUNT(*) FROM figure WHERE value IS NULL").fetchone() == (1,)


def test_that_every_value_comes_back_to_the_last_bit(desk, first):
    values = [1 / 3, 5e-324, 1.7976931348623157e308, math.inf, -math.inf, np.float64(0.1)]
    figures = [Figure("1", f"figure_{n}", "dB", value) for n, value in enumerate(values)]
    desk.keep_measurement(first, figures, (), {}, {}, 1)
    found = desk.measurement_table()["value"].tolist()
    assert [value.hex() for value in found] == [float(value).hex() for value in values]


def test_that_the_last_measuring_of_a_run_counts(study, desk, ids):
    first, second, third, _ = ids
    settings = {"field": "free", "tyre": "225/45 R17", "air_c": 31.5, "pitches": None}
    desk.keep_measurement(first, FIGURES, [Remark("void", "Clipped.", 2)], {}, {}, 1)
    desk.keep_measurement(second, FIGURES, [], {}, {}, 1)
    desk.change_bands(DEFAULT_BANDS.bands[:2])
    remarks = (Remark("note", "Short."), Remark("doubtful", "A hum at 50 Hz.", 1))
    desk.keep_measurement(first, FIGURES[:1], remarks, settings, {}, 2)
    assert desk.remarks(first) == remarks
    assert desk.remarks(second) == desk.remarks(third) == ()
    runs = {run.recording_id: run for run in desk.runs()}
    assert [runs[n].worst for n in ids[:3]] == ["doubtful", None, None]
    measuring = desk.measuring(first)
    assert (measuring.settings, measuring.band_version) == (settings, 2)
    assert measuring.measured_at == runs[first].measured_at
    assert runs[first].measured_at.tzinfo is not None
    assert desk.measuring(third) is None
    assert sorted(desk.measurement_table().groupby("set", sort=False).size()) in ([4], [1, 3])


def test_that_arrays_come_back_as_they_were_given(study, desk, first):
    rng = np.random.default_rng(5)
    arrays = {
        "spectrum": rng.random((2, 4097)).astype(np.float32),
        "map": rng.random((3, 5)),
        "speeds": np.arange(5),
    }
    desk.keep_measurement(first, FIGURES, (), {}, arrays, 1)
    found = desk.arrays(first)
    assert {name: array.dtype for name, array in found.items()} == {
        name: array.dtype for name, array in arrays.items()
    }
    for name, array in arrays.items():
        np.testing.assert_array_equal(found[name], array)
    assert desk.arrays(first + 1) is None
    desk.keep_measurement(first, FIGURES, (), {}, {}, 1)
    assert desk.arrays(first) is None


def test_that_a_measurement_that_is_not_kept_leaves_no_file(study, desk, first):
    arrays = {"spectrum": np.zeros(3)}
    with pytest.raises(Exception, match="FOREIGN KEY"):
        desk.keep_measurement(77, FIGURES, (), {}, arrays, 1)
    with pytest.raises(Exception, match="UNIQUE"):
        desk.keep_measurement(first, FIGURES[:1] * 2, (), {}, arrays, 1)
    with pytest.raises(ValueError, match="Object arrays"):
        desk.keep_measurement(first, FIGURES, (), {}, {"odd": np.array([None])}, 1)
    with pytest.raises(ValueError, match="not JSON compliant"):
        desk.keep_measurement(first, FIGURES, (), {"air_c": math.nan}, arrays, 1)
    assert list(study.folder.measurements.iterdir()) == []
    assert desk.measuring(first) is None
    assert len(desk.measurement_table()) == 0


def test_that_a_damaged_file_of_arrays_is_told_and_a_missing_one_is_none(study, desk, first):
    desk.keep_measurement(first, FIGURES, (), {}, {"spectrum": np.zeros(3000)}, 1)
    (path,) = study.folder.measurements.iterdir()
    content = path.read_bytes()
    for damaged in (b"", content[:1000], content[:300] + b"\1" * 40 + content[340:]):
        path.write_bytes(damaged)
        with pytest.raises(StudyError, match="Measure the run again"):
            desk.arrays(first)
    path.unlink()
    assert desk.arrays(first) is None


def test_that_a_measurement_table_of_the_lead_holds_clips_and_runs(study, desk, tmp_path):
    lead = LeadDesk(study)
    assert set(lead.measurement_table()["figure"]) == {"clip_leq_a", "clip_fast_max_a"}
    path = write_noise(tmp_path / "again.wav", 99)
    brought = NewRun(path, 2, 1, (ChannelSetting("passenger"), ChannelSetting("rear")))
    recording_id = desk.bring_run(brought)
    desk.keep_measurement(recording_id, FIGURES, (), {}, {}, 1)
    table = lead.measurement_table()
    assert len(table) == 8 + 3
    rows = table[table["run"] == 2]
    assert rows["figure"].tolist() == ["leq_a", "leq_a", "cavity_line_hz"]
    (run,) = [each for each in desk.runs() if each.recording_id == recording_id]
    assert set(rows["set"]) == {run.set_code}
    assert str(table["value"].dtype) == "float64"
    assert str(table["run"].dtype) == "int64"


def test_that_times_are_kept_in_utc(study, tmp_path, first):
    desk = RecordingDesk(study)
    desk.keep_measurement(first, FIGURES, (), {}, {}, 1)
    measured_at = desk.measuring(first).measured_at
    assert measured_at.utcoffset() == datetime.now(UTC).utcoffset()
