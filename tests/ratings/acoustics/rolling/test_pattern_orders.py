from dataclasses import replace

import numpy as np
import pytest

from ratings.acoustics.rolling.order_spectrum import OrderSpectrum, order_spectrum
from ratings.acoustics.rolling.pattern_orders import (
    PitchOrder,
    highest_order_for,
    pattern_tone_hz,
    pitch_orders,
)
from ratings.errors import MeasurementError
from ratings.study.speed_trace import SpeedTrace
from ratings.study.tyre_size import tyre_size
from ratings.synthesis.alder_wagon import ALDER_WAGON, SMOOTH_ASPHALT
from ratings.synthesis.cabin import cabin_pressure_pa
from ratings.synthesis.sketch import TyreSketch

TYRE = tyre_size("205/55R16")


def test_that_64_pitches_at_80_km_h_sound_at_738_hz() -> None:
    # Shared acoustics notes.
    assert pattern_tone_hz(TYRE, 64, 80.0) == pytest.approx(738.0, abs=0.5)


@pytest.mark.parametrize(
    ("size", "at_40_hz", "at_80_hz", "at_120_hz"),
    [
        ("205/55R16", 404, 808, 1212),
        ("225/50R18", 374, 748, 1122),
        ("255/45R20", 346, 692, 1038),
    ],
)
def test_that_70_pitches_sound_within_5_percent_of_the_trades_table(
    size: str, at_40_hz: float, at_80_hz: float, at_120_hz: float
) -> None:
    # Shared trade notes, 2.4, computed elsewhere.
    for speed_km_h, tabled_hz in ((40, at_40_hz), (80, at_80_hz), (120, at_120_hz)):
        assert pattern_tone_hz(tyre_size(size), 70, speed_km_h) == pytest.approx(
            tabled_hz, rel=0.05
        )


@pytest.mark.parametrize("pitches", [0, -5, 1000])
def test_that_a_pitch_count_that_no_tyre_has_is_refused(pitches: int) -> None:
    with pytest.raises(MeasurementError, match="pitches"):
        pattern_tone_hz(TYRE, pitches, 80.0)


def spectrum_of(power: np.ndarray) -> OrderSpectrum:
    return OrderSpectrum(power, 0.125, 40.0, 200.0, 11.0)


def test_that_a_line_over_flat_noise_has_level_height_and_a_group_around_it() -> None:
    power = np.full((1, 8 * 230), 0.01)
    power[0, 64 * 8] = 1.0
    first = pitch_orders(spectrum_of(power), 64, reference=1.0)[0]
    assert first.level_db[0] == pytest.approx(10 * np.log10(1.0 + 8 * 0.01))
    assert first.height_db[0] == pytest.approx(10 * np.log10(1.08 / 0.09))
    in_group = np.count_nonzero(np.abs(np.arange(8 * 230) / 8 - 64) <= 0.18 * 64)
    assert first.group_level_db[0] == pytest.approx(10 * np.log10(1.0 + (in_group - 1) * 0.01))
    assert first.frequency_hz == pytest.approx(704.0)
    assert first.stands_out.tolist() == [True]


def test_that_orders_beyond_the_spectrum_have_no_level() -> None:
    spectrum = spectrum_of(np.full((2, 8 * 150), 0.01))
    orders = pitch_orders(spectrum, 64)
    assert [bool(np.isnan(each.level_db).any()) for each in orders] == [False, False, True]
    assert not any(each.stands_out.any() for each in orders)
    assert np.isnan(orders[1].group_level_db).all()


def test_that_noise_alone_has_orders_with_a_level_that_do_not_stand_out() -> None:
    rng = np.random.default_rng(4)
    for averages in (2, 40):
        power = rng.chisquare(2 * averages, (300, 8 * 230)) / (2 * averages)
        spectrum = OrderSpectrum(power, 0.125, float(averages), 200.0, 11.0)
        orders = pitch_orders(spectrum, 64)
        assert all(np.isfinite(each.level_db).all() for each in orders)
        assert np.mean([each.stands_out for each in orders]) <= 0.02


@pytest.mark.slow
def test_that_a_louder_pattern_reads_its_rise_in_invented_road_noise() -> None:
    rate_hz, speed_km_h = 8_000, 80.0
    trace = SpeedTrace.constant(speed_km_h, 20.0)
    tyre = TyreSketch("plain", pitch_randomness=0.0)

    def first_order(pattern_db: float) -> PitchOrder:
        louder = replace(tyre, pattern_db=pattern_db)
        speed = np.full(20 * rate_hz, speed_km_h)
        rng = np.random.default_rng(5)
        sound = cabin_pressure_pa(ALDER_WAGON, louder, SMOOTH_ASPHALT, speed, rate_hz, rng)
        path_m = TYRE.rolling_circumference_m
        spectrum = order_spectrum(sound, rate_hz, trace, path_m, highest_order_for(64))
        return pitch_orders(spectrum, 64)[0]

    plain, louder = first_order(6.0), first_order(11.0)
    assert plain.height_db.min() > 10.0
    assert plain.stands_out.all()
    assert not first_order(-60.0).stands_out.any()
    np.testing.assert_allclose(louder.level_db - plain.level_db, 5.0, atol=0.3)
