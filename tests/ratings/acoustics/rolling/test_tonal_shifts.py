from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from ratings.acoustics.rolling.coast_down import coast_down_map
from ratings.acoustics.rolling.ridges import find_ridges
from ratings.acoustics.rolling.tonal_shifts import TonalShift, tonal_shifts
from ratings.study.bands import DEFAULT_BANDS, Band

Coasting = Callable[[Any], np.ndarray]


def shifts_of(run: Any, coasting: Coasting, bands: tuple[Band, ...] = ()) -> tuple[TonalShift, ...]:
    found = coast_down_map(coasting(run), run.rate_hz, run.trace, bands)
    return tonal_shifts(found, find_ridges(found, run.circumference_m), run.circumference_m)


@pytest.mark.parametrize("tone_db", [10.0, 25.0])
def test_that_a_tone_that_begins_below_60_km_h_is_flagged_there(
    tone_db: float, recipe: Any, coasting: Coasting
) -> None:
    (shift,) = shifts_of(recipe(below_60_hz=900.0, tone_db=tone_db), coasting)
    assert shift.kind == "appears"
    assert shift.speed_km_h == pytest.approx(60.0, abs=2.0)
    assert shift.frequency_hz == pytest.approx(900.0, abs=2.0)
    assert shift.change_db == pytest.approx(tone_db, abs=3.0)


def test_that_a_tone_that_ends_below_60_km_h_vanishes_there(
    recipe: Any, coasting: Coasting
) -> None:
    run = recipe()
    # Noise and tone cancel below 60 km/h, the noise above it too: the last term brings it back.
    sound = (
        coasting(recipe(fixed_hz=900.0)) - coasting(recipe(below_60_hz=900.0)) + coasting(recipe())
    )
    found = coast_down_map(sound, run.rate_hz, run.trace)
    (shift,) = tonal_shifts(found, find_ridges(found, run.circumference_m), run.circumference_m)
    assert shift.kind == "vanishes"
    assert shift.speed_km_h == pytest.approx(60.0, abs=2.0)


def test_that_a_tone_that_jumps_by_12_db_at_70_km_h_is_flagged_there(
    recipe: Any, coasting: Coasting
) -> None:
    (shift,) = shifts_of(recipe(jump_hz=500.0, tone_db=20.0), coasting)
    assert shift.kind == "jumps"
    assert shift.speed_km_h == pytest.approx(70.0, abs=2.0)
    assert shift.change_db == pytest.approx(12.0, abs=3.0)


def test_that_a_band_that_peaks_over_its_course_is_flagged_at_the_peak(
    recipe: Any, coasting: Coasting
) -> None:
    airborne = DEFAULT_BANDS.band("airborne")
    (shift,) = shifts_of(recipe(whine_peak_db=8.0), coasting, (airborne,))
    assert (shift.kind, shift.band) == ("band departs", "airborne")
    assert shift.speed_km_h == pytest.approx(62.0, abs=2.0)
    # 8 dB at the peak, somewhat less over three speeds.
    assert shift.change_db == pytest.approx(7.3, abs=1.0)


def test_that_tones_from_end_to_end_and_plain_noise_flag_nothing(
    recipe: Any, coasting: Coasting
) -> None:
    assert shifts_of(recipe(fixed_hz=210.0, order=64.0), coasting) == ()
    assert shifts_of(recipe(), coasting, DEFAULT_BANDS.bands) == ()
