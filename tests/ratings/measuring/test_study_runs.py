"""A run from the file into the study's measurement table."""

import numpy as np
import pytest
import soundfile
from known_recordings import FULL_SCALE_PA, noise_pa, resonance_pa, tone_pa
from lead_recordings import study_with_runs
from studies import small_plan

from ratings.errors import Cancelled, MeasurementError
from ratings.intake.making import make_study
from ratings.measuring.study_runs import measure_run, measure_runs
from ratings.storage.recording_desk import RecordingDesk
from ratings.study.runs import ChannelSetting, ConstantSpeed, NewRun, RunNote, Tread


@pytest.fixture
def desk(tmp_path) -> RecordingDesk:
    return RecordingDesk(make_study(tmp_path / "study", small_plan(tmp_path / "files")))


def bring(desk: RecordingDesk, path, **changes) -> int:
    ears = ("driver left ear", "driver right ear")
    channels = tuple(ChannelSetting(role, FULL_SCALE_PA, "factor given") for role in ears)
    wanted = {"set_id": 1, "condition_id": 1, "channels": channels, "speed": ConstantSpeed(80.0)}
    return desk.bring_run(NewRun(path, **(wanted | changes)))


@pytest.fixture
def run_file(tmp_path):
    path = tmp_path / "second_run.wav"
    lines = sum(resonance_pa(hz, 48, 10, 48_000) for hz in (199, 222)) + tone_pa(
        350, 45, 10, 48_000
    )
    ears = [noise_pa(66, 10, 48_000, seed) + lines for seed in (1, 2)]
    soundfile.write(path, np.stack(ears, axis=1) / FULL_SCALE_PA, 48_000, subtype="PCM_24")
    return path


def test_that_a_measured_run_stands_in_the_measurement_table(desk, run_file) -> None:
    recording_id = bring(desk, run_file, note=RunNote(air_c=20.0))
    desk.set_tread(1, Tread("205/55R16", 64))
    measure_run(desk, recording_id)
    table = desk.measurement_table()
    assert list(table.columns) == ["set", "condition", "run", "channel", "figure", "unit", "value"]
    rows = table[(table["channel"] == "ears")].set_index("figure")
    assert rows.loc["leq", "value"] == pytest.approx(66.1, abs=0.2)
    # What is not in the table's cells.
    assert table.attrs == {"sound_field": "diffuse"}
    assert rows.loc["fast_l90_a", "value"] < rows.loc["slow_l10_a", "value"]
    assert rows.loc["loudness_n90", "value"] < rows.loc["loudness_n10", "value"]
    assert rows.loc["cavity_line_hz", "value"] == pytest.approx(199, abs=24)
    assert rows.loc["loudness_n", "unit"] == "sone"
    assert set(rows["run"]) == {2}
    arrays = desk.arrays(recording_id)
    assert arrays is not None
    assert arrays["channels"].tolist() == ["1", "2", "ears"]
    assert arrays["spectrum_db"].shape == (3, 12_501)
    assert arrays["map_db"].shape == (3, len(arrays["map_s"]), len(arrays["map_hz"]))
    assert arrays["cavity_predicted_hz"].mean() == pytest.approx(210.4, abs=0.1)
    # A tone of 45 dB reads so over the lines it falls to.
    near = np.abs(arrays["spectrum_hz"] - 350) < 3
    assert 10 * np.log10((10 ** (arrays["spectrum_db"][0, near] / 10)).sum()) == pytest.approx(
        45.1, abs=0.3
    )


def test_that_a_run_without_a_microphone_is_refused(desk, run_file) -> None:
    channels = (ChannelSetting("speed"), ChannelSetting("not used"))
    recording_id = bring(desk, run_file, channels=channels)
    with pytest.raises(MeasurementError, match="microphone"):
        measure_run(desk, recording_id)


def test_that_a_cancelled_measuring_keeps_nothing(desk, run_file) -> None:
    recording_id = bring(desk, run_file)

    def stop(_part: float, _words: str) -> None:
        raise Cancelled

    with pytest.raises(Cancelled):
        measure_run(desk, recording_id, progress=stop)
    assert desk.measuring(recording_id) is None


@pytest.mark.slow
def test_that_a_set_without_a_size_is_measured_without_a_prediction(desk, run_file) -> None:
    recording_id = bring(desk, run_file)
    desk.set_tread(1, Tread("as fitted", None))
    measure_run(desk, recording_id)
    arrays = desk.arrays(recording_id)
    assert arrays is not None
    assert "cavity_predicted_hz" not in arrays


def test_that_runs_are_measured_in_turn_and_one_that_is_refused_does_not_stop_the_others(tmp_path):
    study = study_with_runs(tmp_path)
    desk = RecordingDesk(study)
    runs, measured, told = desk.runs()[:3], [], []

    def measure_one(_desk, recording_id, progress):
        progress(0.5, "words of its own")
        if recording_id == runs[1].recording_id:
            raise MeasurementError("It has no speed.", "Bring it in.")
        measured.append(recording_id)

    refused = measure_runs(desk, runs, lambda *step: told.append(step), measure_one)
    assert measured == [runs[0].recording_id, runs[2].recording_id]
    assert [(run, problem.what_happened) for run, problem in refused] == [
        (runs[1], "It has no speed.")
    ]
    total_s = sum(run.duration_s for run in runs)
    words = f"Run 2 of 3: {runs[1].set_code}, {runs[1].condition.title}, run {runs[1].run}"
    before_s, share_s = runs[0].duration_s, runs[1].duration_s
    parts = [(part, said) for part, said in told if said == words]
    assert parts == [
        (pytest.approx(before_s / total_s), words),
        (pytest.approx((before_s + share_s / 2) / total_s), words),
    ]
    study.close()
