from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from ratings.acoustics.levels import equivalent_level_db
from ratings.acoustics.rolling.coast_down import CoastDownMeter, coast_down_map
from ratings.errors import MeasurementError
from ratings.study.bands import DEFAULT_BANDS, Band
from ratings.study.speed_trace import SpeedTrace

BANDS = DEFAULT_BANDS.bands
Coasting = Callable[[Any], np.ndarray]


def test_that_noise_with_v3_has_30_db_per_decade_in_the_whole_and_in_bands(
    recipe: Any, coasting: Coasting
) -> None:
    run = recipe(duration_s=40.0)
    found = coast_down_map(coasting(run), run.rate_hz, run.trace, BANDS)
    law = found.law(0)
    assert law.slope_db_per_decade == pytest.approx(30.0, abs=1.0)
    assert law.exponent == pytest.approx(3.0, abs=0.1)
    assert 0.0 < law.slope_error_db < 0.5
    for number, band in enumerate(BANDS):
        band_law = found.law(0, number, a_weighted=False)
        # The narrower the band, the more its level scatters.
        allowed_db = 1.0 if band.key in {"airborne", "pattern"} else 4 * band_law.slope_error_db
        assert band_law.slope_db_per_decade == pytest.approx(30.0, abs=allowed_db), band.key


def test_that_levels_of_noise_stand_at_their_speed(recipe: Any, coasting: Coasting) -> None:
    run = recipe(duration_s=40.0)
    found = coast_down_map(coasting(run), run.rate_hz, run.trace, BANDS)
    steps = found.binned
    assert steps.speed_km_h.tolist() == list(range(30, 101, 5))
    expected_db = 20 * np.log10(0.1 / 20e-6) + 30 * np.log10(steps.mean_speed_km_h / 80)
    np.testing.assert_allclose(steps.leq_db[0], expected_db, atol=0.2)
    # White noise up to 6 kHz: a band holds its share of the width.
    for number, band in enumerate(BANDS):
        share_db = 10 * np.log10((band.high_hz - band.low_hz) / 6000)
        np.testing.assert_allclose(
            steps.band_db[0, number], expected_db + share_db, atol=1.5, err_msg=band.key
        )
    assert found.level_db.shape == (1, 71, 1251)


def test_that_weighted_levels_agree_with_the_level_meter(recipe: Any, coasting: Coasting) -> None:
    # Independent route inside the project: the weighting over the whole signal.
    run = recipe()
    sound = coasting(run)
    start, stop = (round((100 - speed) / 70 * 20 * run.rate_hz) for speed in (62.5, 57.5))
    expected_db = equivalent_level_db(sound[start:stop], run.rate_hz, "A")
    steps = coast_down_map(sound, run.rate_hz, run.trace).binned
    at_60 = int(np.flatnonzero(steps.speed_km_h == 60.0)[0])
    assert steps.leq_a_db[0, at_60] == pytest.approx(float(expected_db[0]), abs=0.3)


def test_that_a_tone_in_the_map_has_its_level(recipe: Any) -> None:
    run = recipe()
    time_s = np.arange(20 * run.rate_hz) / run.rate_hz
    tone = np.sqrt(2) * np.sin(2 * np.pi * 400.0 * time_s)[:, np.newaxis]
    bands = (Band("around", "Around", 380, 420), Band("high", "High", 400, 9000))
    found = coast_down_map(tone, run.rate_hz, run.trace, bands, reference=1.0)
    np.testing.assert_allclose(found.fine.leq_db, 0.0, atol=0.01)
    np.testing.assert_allclose(found.fine.band_db[0, 0], 0.0, atol=0.01)
    # Its middle line holds two thirds of a Hann window's power.
    line_db = found.level_db[0, :, round(400 / found.resolution_hz)]
    np.testing.assert_allclose(line_db, 10 * np.log10(2 / 3), atol=0.02)
    assert np.isnan(found.fine.band_db[0, 1]).all()


def test_that_blocks_of_any_length_give_the_same_numbers(recipe: Any, coasting: Coasting) -> None:
    run = recipe()
    sound = np.concatenate([coasting(run), 2 * coasting(recipe(seed=2))], axis=1)
    whole = coast_down_map(sound, run.rate_hz, run.trace, BANDS)
    meter = CoastDownMeter(run.rate_hz, 2, run.trace, BANDS)
    start = 0
    for length in (1, 997, 65_536, 2, len(sound)):
        meter.feed(sound[start : start + length])
        start += length
    pieces = meter.result()
    np.testing.assert_allclose(pieces.level_db, whole.level_db, rtol=1e-9)
    np.testing.assert_allclose(pieces.binned.band_a_db, whole.binned.band_a_db, rtol=1e-9)
    np.testing.assert_allclose(pieces.fine.mean_speed_km_h, whole.fine.mean_speed_km_h, rtol=1e-12)


def test_that_spectra_without_a_speed_are_left_out_and_counted(
    recipe: Any, coasting: Coasting
) -> None:
    run = recipe()
    trace = SpeedTrace(np.array([5.0, 15.0]), np.array([82.4, 47.6]))
    found = coast_down_map(coasting(run), run.rate_hz, trace)
    heard = int(found.fine.frames.sum())
    assert heard + found.frames_left_out == 159
    assert heard == pytest.approx(10 / 0.125, abs=1)
    assert (found.speed_km_h[0], found.speed_km_h[-1]) == (48.0, 82.0)


def test_that_driving_up_to_speed_and_standing_at_the_end_do_not_count(
    recipe: Any, coasting: Coasting
) -> None:
    run = recipe()
    rolled = coasting(run)
    times_s = np.array([0.0, 6.0, 26.0, 30.0])
    trace = SpeedTrace(times_s, np.array([20.0, 100.0, 30.0, 0.0]))
    loud = np.ones((6 * run.rate_hz, 1))
    silent = np.zeros((4 * run.rate_hz, 1))
    found = coast_down_map(np.concatenate([loud, rolled, silent]), run.rate_hz, trace)
    assert found.law(0, a_weighted=False).slope_db_per_decade > 30.0
    alone = coast_down_map(rolled, run.rate_hz, run.trace)
    shared = np.arange(40.0, 98.0)
    levels_db = [each.fine.leq_db[0, np.isin(each.speed_km_h, shared)] for each in (found, alone)]
    # The steps begin and end elsewhere by part of a spectrum.
    np.testing.assert_allclose(levels_db[0], levels_db[1], atol=0.5)
    assert found.speed_km_h[0] >= 10.0
    assert found.frames_left_out >= 6 / 0.125


def test_that_a_speed_that_the_trace_jumps_over_has_no_level(
    recipe: Any, coasting: Coasting
) -> None:
    times_s = np.array([0.0, 9.9, 10.0, 20.0])
    trace = SpeedTrace(times_s, np.array([100.0, 80.0, 60.0, 40.0]))
    found = coast_down_map(coasting(recipe()), 12_000, trace, BANDS)
    at_70 = int(np.flatnonzero(found.speed_km_h == 70.0)[0])
    assert found.fine.frames[at_70] == 0
    assert np.isnan(found.level_db[0, at_70]).all()
    assert np.isfinite(found.law(0).slope_db_per_decade)


def test_that_silence_is_minus_infinity_everywhere(recipe: Any) -> None:
    run = recipe()
    found = coast_down_map(np.zeros((20 * run.rate_hz, 1)), run.rate_hz, run.trace, BANDS)
    assert np.isneginf(found.binned.leq_a_db).all()
    assert np.isneginf(found.level_db).all()


@pytest.mark.parametrize(
    "trace",
    [SpeedTrace.constant(80.0, 20.0), SpeedTrace(np.array([50.0, 60]), np.array([90.0, 30]))],
)
def test_that_a_run_that_is_no_coast_down_is_refused(trace: SpeedTrace) -> None:
    with pytest.raises(MeasurementError, match="covers less than"):
        coast_down_map(np.ones((20 * 8000, 1)), 8000, trace)


def test_that_a_trace_in_the_wrong_unit_is_refused() -> None:
    with pytest.raises(MeasurementError, match="unit"):
        CoastDownMeter(8000, 1, SpeedTrace(np.array([0.0, 1.0]), np.array([2777.0, 833.0])))
