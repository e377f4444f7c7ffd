"""The cavity line in invented road noise: found, measured, and not found where it is not."""

from dataclasses import replace

import numpy as np
import pytest

from ratings.acoustics.narrow_band import NarrowBandSpectrum, SpectrumMeter
from ratings.acoustics.rolling.cavity_line import CavityLine, search_cavity_line
from ratings.acoustics.rolling.cavity_prediction import predicted_cavity_hz
from ratings.study.tyre_size import tyre_size
from ratings.synthesis.alder_wagon import ALDER_WAGON, COARSE_ASPHALT, SMOOTH_ASPHALT
from ratings.synthesis.cabin import cabin_pressure_pa
from ratings.synthesis.cavity import cavity_lines_hz
from ratings.synthesis.sketch import RoadSketch, TyreSketch

# Recordings of 20 s are made and measured.
pytestmark = pytest.mark.slow

RATE_HZ = 8_000
TYRE = TyreSketch("plain")


def spectrum_of(
    cavity_db: float, road: RoadSketch, speed_km_h: float, seed: int
) -> NarrowBandSpectrum:
    tyre = replace(TYRE, cavity_db=cavity_db)
    speed = np.full(20 * RATE_HZ, speed_km_h)
    meter = SpectrumMeter(RATE_HZ, 2)
    rng = np.random.default_rng(seed)
    meter.feed(cabin_pressure_pa(ALDER_WAGON, tyre, road, speed, RATE_HZ, rng))
    return meter.result()


def found_in(spectrum: NarrowBandSpectrum, speed_km_h: float) -> CavityLine | None:
    prediction = predicted_cavity_hz(tyre_size(TYRE.size), 20.0, speed_km_h)
    return search_cavity_line(
        spectrum.power, spectrum.resolution_hz, spectrum.averages, prediction
    ).line


def band_db(spectrum: NarrowBandSpectrum) -> float:
    inside = (spectrum.frequency_hz >= 100) & (spectrum.frequency_hz <= 300)
    return float(10 * np.log10(spectrum.power[:, inside].sum()))


def test_that_a_cavity_lowered_by_4_db_reads_4_db_in_the_line_and_less_in_the_band() -> None:
    changes_db, band_changes_db = [], []
    for seed, (road, speed_km_h) in enumerate(
        (road, speed) for road in (COARSE_ASPHALT, SMOOTH_ASPHALT) for speed in (60.0, 80.0, 100.0)
    ):
        # Two runs over the same road, not the same samples.
        before = spectrum_of(0.0, road, speed_km_h, seed)
        after = spectrum_of(-4.0, road, speed_km_h, 100 + seed)
        lines = [found_in(spectrum, speed_km_h) for spectrum in (before, after)]
        assert lines[0] is not None
        assert lines[1] is not None
        changes_db.append(lines[1].level_db - lines[0].level_db)
        band_changes_db.append(band_db(after) - band_db(before))
    assert np.mean(changes_db) == pytest.approx(-4.0, abs=0.3)
    assert -2.0 < np.mean(band_changes_db) < -0.3


@pytest.mark.parametrize("speed_km_h", [50.0, 80.0, 100.0])
@pytest.mark.parametrize("road", [COARSE_ASPHALT, SMOOTH_ASPHALT], ids=lambda road: str(road.name))
def test_that_the_pair_is_found_where_it_was_put(road: RoadSketch, speed_km_h: float) -> None:
    found = found_in(spectrum_of(0.0, road, speed_km_h, 3), speed_km_h)
    put = cavity_lines_hz(TYRE.size, np.array([speed_km_h]))
    assert found is not None
    assert len(found.lines) == 2
    # No resonance of the cabin stands so high; a background bent under the lines did: 44 dB.
    assert all(8.0 < line.prominence_db < 24.0 for line in found.lines)
    # The combs of the axles pull a line 4 Hz wide; at 50 km/h their teeth lie 5 Hz apart.
    assert found.lines[0].frequency_hz == pytest.approx(put.lower_hz[0], abs=3.0)
    assert found.lines[1].frequency_hz == pytest.approx(put.upper_hz[0], abs=3.0)


def test_that_road_noise_without_a_cavity_rarely_shows_a_line_in_one_ear() -> None:
    # Harder than plain noise: combed by the axles, with resonances 20 Hz wide. Of 476 spectra,
    # half of 8 s and half of 20 s, 1.3 % had a line; 9 % before it had to stand over its sides.
    alarms = 0
    for number in range(18):
        speed_km_h = (40.0, 50.0, 60.0, 70.0, 80.0, 100.0)[number % 6]
        road = replace((COARSE_ASPHALT, SMOOTH_ASPHALT)[number % 2], seed=1000 + number)
        spectrum = spectrum_of(-60.0, road, speed_km_h, number)
        for ear in spectrum.power:
            one = replace(spectrum, power=ear[np.newaxis])
            alarms += found_in(one, speed_km_h) is not None
    assert alarms <= 1


@pytest.mark.parametrize("cavity_db", [0.0, -4.0])
def test_that_the_pair_is_seen_in_each_ear(cavity_db: float) -> None:
    seen = 0
    for number, speed_km_h in enumerate((40.0, 60.0, 80.0, 100.0)):
        road = replace((COARSE_ASPHALT, SMOOTH_ASPHALT)[number % 2], seed=2000 + number)
        spectrum = spectrum_of(cavity_db, road, speed_km_h, number)
        for ear in spectrum.power:
            seen += found_in(replace(spectrum, power=ear[np.newaxis]), speed_km_h) is not None
    assert seen == 8
