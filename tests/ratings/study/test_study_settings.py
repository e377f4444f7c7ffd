import pytest

from ratings.study.attributes import DEFAULT_ATTRIBUTES, Attribute
from ratings.study.bands import DEFAULT_BANDS, Band
from ratings.study.study_settings import DEFAULT_FIGURES, figures_beside, no_figure_words

HISS = Band("hiss", "Hiss", 1000, 4000)
WITHOUT_HISS = tuple(band for band in DEFAULT_BANDS.bands if band.key != "hiss")


def test_that_every_default_attribute_has_its_place_in_the_table():
    assert list(DEFAULT_FIGURES) == [attribute.key for attribute in DEFAULT_ATTRIBUTES]
    assert figures_beside(DEFAULT_ATTRIBUTES, (*WITHOUT_HISS, HISS), {}) == DEFAULT_FIGURES


def test_that_hiss_has_no_figure_in_a_study_without_a_band_for_it():
    found = figures_beside(DEFAULT_ATTRIBUTES, WITHOUT_HISS, {})
    assert found == {**DEFAULT_FIGURES, "hiss": None}
    by_key = {attribute.key: attribute for attribute in DEFAULT_ATTRIBUTES}
    assert no_figure_words(by_key["hiss"]) == "no band is named for hiss"
    assert no_figure_words(by_key["evenness"]) == "no figure is named for evenness"


@pytest.mark.parametrize(
    ("low_hz", "high_hz", "figure"),
    [(100, 300, "band_cavity"), (1000, 4000, "band_hiss"), (100, 301, None), (None, None, None)],
)
def test_that_another_attribute_gets_the_band_of_its_own_range(low_hz, high_hz, figure):
    ring = Attribute("ring", "Ring", "rings", low_hz, high_hz)
    assert figures_beside([ring], (*WITHOUT_HISS, HISS), {}) == {"ring": figure}


def test_that_a_band_that_was_renamed_is_found_by_its_range():
    low = (Band("low", "Low", 20, 100),)
    assert figures_beside(DEFAULT_ATTRIBUTES[:2], low, {}) == {"boom": "band_low", "rumble": None}


@pytest.mark.parametrize(
    ("chosen", "figure"),
    [
        ("leq_a", "leq_a"),
        ("sharpness", "sharpness"),
        ("band_cavity_a", "band_cavity_a"),
        ("third_octave_200", "third_octave_200"),
        (None, None),
        ("band_gone", None),
        ("nonsense", None),
    ],
)
def test_that_what_the_lead_chose_goes_first_where_it_is_measured(chosen, figure):
    found = figures_beside(DEFAULT_ATTRIBUTES[:1], DEFAULT_BANDS.bands, {"boom": chosen})
    assert found == {"boom": figure}
