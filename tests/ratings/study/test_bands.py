"""Named bands and their versions."""

import pytest

from ratings.errors import MeasurementError
from ratings.study.attributes import DEFAULT_ATTRIBUTES
from ratings.study.bands import DEFAULT_BANDS, Band, BandTable, named_bands


def test_that_a_change_counts_the_version_up() -> None:
    changed = DEFAULT_BANDS.changed((*DEFAULT_BANDS.bands, Band("whine", "Whine", 900, 1400)))
    assert changed.version == DEFAULT_BANDS.version + 1
    assert changed.band("whine").range_text == "900-1400 Hz"


def test_that_every_attribute_with_a_band_of_its_own_is_measured_in_it() -> None:
    ranges = {(band.low_hz, band.high_hz) for band in DEFAULT_BANDS.bands}
    asked = {(each.low_hz, each.high_hz) for each in DEFAULT_ATTRIBUTES if each.low_hz}
    assert (1000, 4000) in asked
    assert asked <= ranges


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


@pytest.mark.parametrize(
    ("drafts", "words"),
    [
        ([], "There is no band left."),
        ([Band("", "  ", 60, 180)], "A band has no name."),
        (
            [Band("", "Hum", 60, 180), Band("", "hum", 90, 180)],
            "The band hum is there twice.",
        ),
    ],
)
def test_that_senseless_bands_are_refused(drafts, words):
    with pytest.raises(MeasurementError, match=words.rstrip(".")):
        named_bands(drafts)


def test_that_a_band_with_a_name_in_another_script_gets_a_usable_key():
    bands = named_bands([Band("", "路面噪声", 60, 180), Band("", "胎噪", 90, 200)])
    assert all(band.key.isidentifier() for band in bands)
    assert len({band.key for band in bands}) == 2
