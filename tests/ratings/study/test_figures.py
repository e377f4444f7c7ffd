"""Names of figures."""

import pytest

from ratings.study.figures import title_of


@pytest.mark.parametrize(
    ("key", "title"),
    [
        ("leq_a", "Level, A-weighted"),
        ("band_structure_borne", "Structure-borne band, unweighted"),
        ("band_boom_a", "Boom band, A-weighted"),
        ("third_octave_31.5", "Third octave 31.5 Hz, unweighted"),
        ("pattern_order_1", "Pattern order 1, unweighted"),
        ("pattern_order_2_slip", "Pattern order 2, slip"),
        ("slow_l95_a", "L95, Slow, A-weighted"),
        ("loudness_n10", "Loudness N10, diffuse field"),
        ("something_new", "something_new"),
    ],
)
def test_that_a_figure_has_words(key: str, title: str) -> None:
    assert title_of(key) == title
