import numpy as np
import pytest
from scipy.stats import linregress

from ratings.acoustics.rolling.speed_law import departure_db, speed_law

SPEEDS = np.arange(30.0, 101.0, 5.0)


def test_that_slope_and_error_are_those_of_a_linear_regression() -> None:
    # Independent route: scipy.stats.linregress.
    rng = np.random.default_rng(1)
    level_db = 60 + 32 * np.log10(SPEEDS / 80) + rng.normal(0, 0.7, SPEEDS.size)
    law = speed_law(SPEEDS, level_db, np.full(SPEEDS.size, 7.0))
    other = linregress(np.log10(SPEEDS / 80), level_db)
    assert law.slope_db_per_decade == pytest.approx(other.slope)
    assert law.slope_error_db == pytest.approx(other.stderr)
    assert law.level_at_80_db == pytest.approx(other.intercept)
    assert law.exponent == pytest.approx(other.slope / 10)


def test_that_power_growing_with_the_cube_of_speed_has_exponent_3() -> None:
    law = speed_law(SPEEDS, 10 * np.log10(SPEEDS**3), np.ones(SPEEDS.size))
    assert law.exponent == pytest.approx(3.0)
    np.testing.assert_allclose(law.level_db(SPEEDS), 10 * np.log10(SPEEDS**3))


def test_that_empty_steps_are_left_out() -> None:
    level_db = np.where(SPEEDS == 60.0, np.nan, 10 * np.log10(SPEEDS**3))
    law = speed_law(SPEEDS, level_db, np.ones(SPEEDS.size))
    assert law.points == SPEEDS.size - 1
    assert law.exponent == pytest.approx(3.0)


def test_that_two_points_make_no_law() -> None:
    law = speed_law(SPEEDS[:2], np.zeros(2), np.ones(2))
    assert np.isnan(law.slope_db_per_decade)


def test_that_silence_makes_no_law() -> None:
    law = speed_law(SPEEDS, np.full(SPEEDS.size, -np.inf), np.ones(SPEEDS.size))
    assert np.isnan(law.level_at_80_db)


def test_that_a_peak_stands_over_the_course_by_its_own_height() -> None:
    level_db = 35 * np.log10(SPEEDS)
    level_db[4] += 6.0
    expected = np.zeros(SPEEDS.size)
    expected[4] = 6.0
    np.testing.assert_allclose(departure_db(SPEEDS, level_db), expected, atol=1e-9)
