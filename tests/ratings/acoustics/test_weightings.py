"""Frequency weightings against the table of IEC 61672-1."""

import numpy as np
import pytest
from reference_data import copied_rows

from ratings.acoustics.levels import Weighting, equivalent_level_db, weighted, weighting_db

# The smallest class 1 limit, at 1 kHz, is 0.7 dB (IEC 61672-1:2013, table 3; from memory). The
# table is rounded to 0.1 dB, so agreement within its rounding is the stricter test.
_ROUNDING_DB = 0.051


def _design_goals() -> list[tuple[float, dict[Weighting, float]]]:
    return [
        (1000 * 10 ** (row["third"] / 10), {"A": row["a_db"], "C": row["c_db"], "Z": row["z_db"]})
        for row in copied_rows("acoustics/frequency_weightings")
    ]


def test_that_the_table_of_design_goals_is_complete() -> None:
    assert len(_design_goals()) == 34


@pytest.mark.parametrize("weighting", ["A", "C", "Z"])
def test_that_the_curve_rounds_to_the_standards_table(weighting: Weighting) -> None:
    for frequency_hz, goals in _design_goals():
        assert weighting_db(frequency_hz, weighting) == pytest.approx(
            goals[weighting], abs=_ROUNDING_DB
        ), frequency_hz


@pytest.mark.slow
@pytest.mark.parametrize("sample_rate_hz", [44_100, 48_000, 51_200])
@pytest.mark.parametrize("weighting", ["A", "C", "Z"])
def test_that_a_measured_tone_reads_the_standards_table(
    weighting: Weighting, sample_rate_hz: int
) -> None:
    for frequency_hz, goals in _design_goals():
        # Whole periods, about 2 s of them.
        duration_s = round(2 * frequency_hz) / frequency_hz
        time_s = np.arange(round(duration_s * sample_rate_hz)) / sample_rate_hz
        # An rms of 1; a phase other than 0, so that the edges are not favourable ones.
        tone = np.sqrt(2) * np.sin(2 * np.pi * frequency_hz * time_s + 0.7)
        level_db = equivalent_level_db(tone, sample_rate_hz, weighting, reference=1.0)
        assert level_db == pytest.approx(goals[weighting], abs=_ROUNDING_DB + 0.004), frequency_hz


def test_that_the_poles_are_those_that_the_standard_prints() -> None:
    from ratings.acoustics import levels

    # IEC 61672-1:2013, annex E.4.2: 20.60, 107.7, 737.9 and 12194 Hz (from memory).
    assert pytest.approx(20.60, abs=0.005) == levels._POLE_1_HZ
    assert pytest.approx(107.7, abs=0.05) == levels._POLE_2_HZ
    assert pytest.approx(737.9, abs=0.05) == levels._POLE_3_HZ
    assert pytest.approx(12194, abs=0.5) == levels._POLE_4_HZ


def test_that_a_weighting_in_the_time_domain_gives_the_same_signal() -> None:
    from scipy.signal import bilinear_zpk, sosfilt, zpk2sos

    # Independent route: the same poles by the bilinear transform, at a rate so high that its
    # warping is below 0.01 dB in the band compared.
    rate_hz = 768_000
    low, second, third, high = 20.598997, 107.65265, 737.86223, 12194.217
    poles = -2 * np.pi * np.array([low, low, second, third, high, high])
    sections = zpk2sos(*bilinear_zpk(np.zeros(4), poles, 1.0, rate_hz))
    time_s = np.arange(rate_hz) / rate_hz
    envelope = np.exp(-(((time_s - 0.5) / 0.1) ** 2))
    signal = envelope * np.sin(2 * np.pi * (50 + 1500 * time_s) * time_s)
    normal = envelope * np.sin(2 * np.pi * 1000 * time_s)
    gain = np.linalg.norm(normal) / np.linalg.norm(sosfilt(sections, normal))

    ours = weighted(signal, rate_hz, "A")

    # A carrier with an envelope is spread about 1 kHz, where A is not level: 0.1 % remains.
    np.testing.assert_allclose(ours, gain * sosfilt(sections, signal), atol=2e-3)
