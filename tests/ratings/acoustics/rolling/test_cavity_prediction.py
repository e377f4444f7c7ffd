import numpy as np
import pytest

from ratings.acoustics.rolling.cavity_prediction import predicted_cavity_hz
from ratings.errors import MeasurementError
from ratings.study.tyre_size import tyre_size


# Table computed elsewhere with a shorter ring (shared trade notes, 2.4), rough to 5 %.
@pytest.mark.parametrize(
    ("size", "at_20_c_hz", "at_50_c_hz"),
    [
        ("205/55R16", 215, 226),
        ("225/45R17", 210, 220),
        ("225/50R18", 196, 206),
        ("235/55R19", 182, 191),
        ("255/35R20", 187, 196),
        ("255/45R20", 179, 188),
    ],
)
def test_that_the_centre_lies_within_5_percent_of_the_trades_table(
    size: str, at_20_c_hz: float, at_50_c_hz: float
) -> None:
    for air_c, tabled_hz in ((20.0, at_20_c_hz), (50.0, at_50_c_hz)):
        centre_hz = predicted_cavity_hz(tyre_size(size), air_c).centre_hz
        assert centre_hz == pytest.approx(tabled_hz, rel=0.05)


@pytest.mark.parametrize(("air_c", "noted_hz"), [(20.0, 210), (50.0, 221)])
def test_that_205_55r16_sounds_where_the_shared_notes_say(air_c: float, noted_hz: int) -> None:
    # Shared acoustics notes, from memory there; 190 to 250 Hz are typical (SAE 2009-01-2104).
    assert round(predicted_cavity_hz(tyre_size("205/55R16"), air_c).centre_hz) == noted_hz


def test_that_a_tyre_at_rest_has_its_lines_as_far_apart_as_measured_under_load() -> None:
    # 4 to 14 Hz, Choi and Bolton, INTER-NOISE 2020.
    lower_hz, upper_hz = predicted_cavity_hz(tyre_size("205/55R16"), 20.0, 0.0).lines_hz
    assert 4.0 <= upper_hz - lower_hz <= 14.0


def test_that_rolling_parts_the_lines_by_two_turns_per_second_and_a_little_more() -> None:
    lower_hz, upper_hz = predicted_cavity_hz(tyre_size("205/55R16"), 20.0, 80.0).lines_hz
    # 11.5 turns per second: shared trade notes, 2.4.
    assert 2 * 11.5 < upper_hz - lower_hz < 2 * 11.5 + 14.0


def test_that_two_coupled_modes_solved_as_a_matrix_lie_at_the_predicted_lines() -> None:
    # Independent route: ring of air turning at r per second, detuned by load, as eigenvalues.
    tyre = tyre_size("225/45R17")
    prediction = predicted_cavity_hz(tyre, 20.0, 100.0)
    turns_per_s = 100.0 / 3.6 / tyre.rolling_circumference_m
    coupled = np.array([[4.5, 1j * turns_per_s], [-1j * turns_per_s, -4.5]])
    expected_hz = prediction.centre_hz + np.linalg.eigvalsh(coupled)
    np.testing.assert_allclose(prediction.lines_hz, expected_hz, rtol=1e-12)


@pytest.mark.parametrize("speed_km_h", [0.0, 50.0, 130.0, None])
def test_that_the_range_holds_the_lines_of_a_warm_tyre_under_the_widest_load_split(
    speed_km_h: float | None,
) -> None:
    tyre = tyre_size("205/55R16")
    low_hz, high_hz = predicted_cavity_hz(tyre, 20.0, speed_km_h).range_hz
    cold, warm = (predicted_cavity_hz(tyre, air_c).centre_hz for air_c in (20.0, 50.0))
    apart_hz = (speed_km_h or 0.0) / 3.6 / tyre.rolling_circumference_m + 7.0
    assert low_hz < cold - apart_hz
    assert high_hz > warm + apart_hz


def test_that_without_a_speed_the_centre_alone_is_predicted() -> None:
    prediction = predicted_cavity_hz(tyre_size("205/55R16"))
    assert prediction.lines_hz == (prediction.centre_hz,)


@pytest.mark.parametrize(("air_c", "speed_km_h"), [(-300.0, 80.0), (20.0, -1.0), (np.nan, 80.0)])
def test_that_impossible_conditions_are_refused(air_c: float, speed_km_h: float) -> None:
    with pytest.raises(MeasurementError, match=r"cannot have|not a valid speed"):
        predicted_cavity_hz(tyre_size("205/55R16"), air_c, speed_km_h)
