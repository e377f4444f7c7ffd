import pytest

from ratings.reports.colours import (
    DARK,
    FULL_DEVIATION,
    LIGHT,
    contrast_ratio,
    deviation_tint,
)


@pytest.mark.parametrize("colours", [LIGHT, DARK])
def test_that_numbers_on_every_tint_stay_readable(colours):
    for quarter in range(-40, 41):
        tint = deviation_tint(quarter / 4, colours)
        # 4.5:1 is the least for text in WCAG 2.2, success criterion 1.4.3.
        assert contrast_ratio(tint, colours.text) >= 4.5


@pytest.mark.parametrize("colours", [LIGHT, DARK])
def test_that_a_tint_grows_with_the_deviation_and_tells_its_direction(colours):
    assert deviation_tint(0.0, colours) == colours.panel
    higher = [deviation_tint(x, colours) for x in (0.25, 0.75, FULL_DEVIATION)]
    to_panel = [contrast_ratio(tint, colours.panel) for tint in higher]
    assert to_panel == sorted(to_panel)
    assert to_panel[0] < to_panel[-1]
    assert deviation_tint(9.0, colours) == higher[-1]
    assert deviation_tint(-1.0, colours) != deviation_tint(1.0, colours)


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    # Black on white, and grey #777777 on white, as published with WCAG's own examples.
    [("#000000", "#FFFFFF", 21.0), ("#777777", "#FFFFFF", 4.48)],
)
def test_that_contrast_is_that_of_the_guidelines(one, other, ratio):
    assert contrast_ratio(one, other) == pytest.approx(ratio, abs=0.005)
    assert contrast_ratio(other, one) == contrast_ratio(one, other)
