"""What is said of a run that is in a study already, and how a change of it is kept."""

from dataclasses import replace

import pytest
from lead_recordings import study_with_runs

from ratings.intake.run_draft import CalibrationDraft
from ratings.intake.run_settings import (
    calibration_words,
    draft_of_run,
    keep_settings,
    settings_shortcoming,
    speed_words,
)
from ratings.storage.recording_desk import RecordingDesk
from ratings.study.runs import ChannelSetting, ConstantSpeed, SpeedChannel, SpeedPulses


def test_that_a_run_is_calibrated_later_without_a_window(tmp_path):
    study = study_with_runs(tmp_path, is_measured=True)
    desk = RecordingDesk(study)
    run = desk.runs()[0]
    before = desk.channel_settings(run.recording_id)
    draft = draft_of_run(desk, run, before)
    seen = desk.last_change()
    keep_settings(desk, run, draft, before)
    assert desk.last_change() == seen
    without = replace(draft, calibration=CalibrationDraft("factor"))
    assert settings_shortcoming(without) == "The factor is not given."
    said = replace(draft, calibration=CalibrationDraft("factor", pa_per_full_scale=31.0))
    assert settings_shortcoming(said) == ""
    keep_settings(desk, run, said, before)
    kept = desk.channel_settings(run.recording_id)
    assert {each.pa_per_full_scale for each in kept} == {31.0}
    assert [each.role for each in kept] == [each.role for each in before]
    study.close()


@pytest.mark.parametrize(
    ("source", "words"),
    [
        (None, "not known"),
        (ConstantSpeed(80.0), "steady at 80 km/h"),
        (SpeedChannel(3, 50.0), "channel 3, 50 km/h per unit"),
        (SpeedPulses(4, 2.5), "channel 4, 2.5 pulses per metre"),
    ],
)
def test_that_a_source_of_speed_has_words(source, words):
    assert speed_words(source) == words


def test_that_the_calibration_of_all_channels_is_told_once():
    same = ChannelSetting("rear", 20.0, "given")
    assert calibration_words([same, same]) == "given"
    assert calibration_words([same, ChannelSetting("rear")]) == "given; not calibrated"
