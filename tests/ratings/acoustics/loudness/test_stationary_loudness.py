"""Loudness from third-octave levels."""

import numpy as np
import pytest

from ratings.acoustics.loudness.filter_bank import third_octave_response
from ratings.acoustics.loudness.stationary import stationary_loudness
from ratings.errors import MeasurementError


def tone_levels_db(frequency_hz: float, level_db: float):
    """What the standard's filters let through of a tone."""
    at = np.array([frequency_hz])
    gains = np.array([np.abs(third_octave_response(band, at))[0] for band in range(28)])
    return level_db + 20 * np.log10(gains)


@pytest.mark.parametrize(
    ("frequency_hz", "level_db", "expected_sone"),
    # ISO 532-1:2017, annex B, signals 2 and 3; 1 sone is a tone of 1 kHz at 40 dB (clause 3).
    [(250, 80, 14.6545), (1000, 60, 4.0192), (1000, 40, 1.0)],
)
def test_that_a_tone_has_the_loudness_of_the_standard(
    frequency_hz, level_db, expected_sone
) -> None:
    found = stationary_loudness(tone_levels_db(frequency_hz, level_db), "free")
    assert found.n_sone == pytest.approx(expected_sone, rel=0.01)
    assert found.specific_loudness.shape == (240,)
    assert found.loudness_level_phon == pytest.approx(40 + 10 * np.log2(found.n_sone), abs=0.1)


def test_that_channels_are_measured_side_by_side() -> None:
    levels_db = np.array([np.linspace(90, 20, 28), [40.0] * 28])
    found = stationary_loudness(levels_db, "diffuse")
    assert found.n_sone.shape == found.sharpness_acum.shape == (2,)
    assert found.specific_loudness.shape == (2, 240)
    alone = stationary_loudness(levels_db[1], "diffuse")
    assert found.n_sone[1] == pytest.approx(alone.n_sone)


def test_that_a_diffuse_field_changes_what_is_heard() -> None:
    free = stationary_loudness(np.full(28, 60.0), "free").n_sone
    diffuse = stationary_loudness(np.full(28, 60.0), "diffuse").n_sone
    assert diffuse > 1.02 * free


def test_that_nothing_reads_nothing() -> None:
    found = stationary_loudness(np.full(28, -np.inf))
    assert found.n_sone == 0.0
    assert found.loudness_level_phon == 3.0
    assert np.isnan(found.sharpness_acum)


def test_that_a_wrong_number_of_bands_is_refused() -> None:
    with pytest.raises(MeasurementError, match="28 third-octave levels"):
        stationary_loudness(np.zeros(27))
