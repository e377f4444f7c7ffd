"""Named bands and their versions."""

import pytest

from ratings.errors import MeasurementError
from ratings.study.bands import DEFAULT_BANDS, Band, BandTable


def test_that_a_change_counts_the_version_up() -> None:
    changed = DEFAULT_BANDS.changed((*DEFAULT_BANDS.bands, Band("hiss", "Hiss", 1000, 4000)))
    assert changed.version == DEFAULT_BANDS.version + 1
    assert changed.band("hiss").range_text == "1000-4000 Hz"


def test_that_the_same_bands_keep_their_version() -> None:
    assert DEFAULT_BANDS.changed(DEFAULT_BANDS.bands) is DEFAULT_BANDS


@pytest.mark.parametrize(
    "band",
    [Band("boom", "Boom", 100, 20), Band("boom", "Boom", 0, 20), Band("a b", "AB", 20, 30)],
)
def test_that_a_senseless_band_is_refused(band: Band) -> None:
    with pytest.raises(MeasurementError):
        BandTable(1, (band,))


def test_that_a_band_cannot_be_there_twice() -> None:
    with pytest.raises(MeasurementError, match="twice"):
        BandTable(1, (Band("boom", "Boom", 20, 100), Band("boom", "Boom", 20, 90)))
