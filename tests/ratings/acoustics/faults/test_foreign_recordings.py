"""What is said of recordings that nobody here made."""

from pathlib import Path

import numpy as np
import pytest
from reference_data import beside

from ratings.acoustics.faults.fault_meter import faults_of
from ratings.acoustics.faults.words import run_remarks
from ratings.recordings.opening import open_recording
from ratings.recordings.read import clipping_magnitude

ISO_SIGNALS = (
    "2 (250 Hz 80 dB)",
    "3 (1 kHz 60 dB)",
    "5 (pinknoise 60 dB)",
    "6 (tone 250 Hz 30 dB - 80 dB)",
    "9 (pink noise 0 dB - 50 dB)",
    "10 (tone pulse 1 kHz 10 ms 70 dB)",
    "14 (propeller-driven airplane)",
    "15 (vehicle interior 40 kmh)",
    "18 (hammer)",
    "20 (shaking coins)",
    "25 (full can rattle)",
)


def remarks_on(path: Path):
    with open_recording(path) as recording:
        samples = np.concatenate(list(recording.blocks(2**15)))
        limit = clipping_magnitude(recording.encoding)
        return run_remarks(faults_of(samples, recording.sample_rate_hz, limit))


@pytest.mark.slow
@pytest.mark.parametrize("signal", ISO_SIGNALS)
def test_that_no_signal_of_iso_532_1_has_a_fault_but_its_length(signal):
    remarks = remarks_on(beside(f"acoustics/iso532-1/Test signal {signal}.wav"))
    assert [each.sentence for each in remarks if "The run lasts" not in each.sentence] == []


@pytest.mark.parametrize("name", ["rain.ogg", "electric_motor_vibration_signal.uff"])
def test_that_rain_and_a_vibration_have_no_fault_but_their_length(name):
    remarks = remarks_on(beside(f"recordings/{name}"))
    assert [each.sentence for each in remarks if "The run lasts" not in each.sentence] == []


def test_that_crackles_of_the_aircraft_recording_are_told():
    # Second differences about the first: 283 and -126 where the rms around is 22 (units 1e-4).
    (remark,) = remarks_on(beside("recordings/aircraft_recording.wav"))
    assert remark.severity == "doubtful"
    assert remark.sentence.startswith("Channel 1 clicks 3 times, first at 14.57 s")


def test_that_the_offset_of_an_8_bit_recording_is_noted():
    remarks = remarks_on(beside("recordings/skid_tyres.wav"))
    assert [each.severity for each in remarks] == ["doubtful", "note"]
    assert "constant offset of 15 %" in remarks[1].sentence
