import numpy as np
import pytest
from scipy.signal import welch
from scipy.stats import chi2

from ratings.acoustics.rolling.standing_out import crest_limit, noise_limit, smoothed


@pytest.mark.parametrize("averages", [1.0, 8.5, 37.0])
def test_that_the_limit_of_single_lines_is_the_chi_square_quantile(averages: float) -> None:
    # Independent route: scipy.stats.
    expected = chi2.ppf(1.0 - 0.01 / 60, 2 * averages) / (2 * averages)
    assert noise_limit(averages, 1, 60, 0.01) == pytest.approx(expected, rel=1e-9)


@pytest.mark.slow
def test_that_joined_lines_of_real_noise_scatter_as_the_limit_supposes() -> None:
    rng = np.random.default_rng(4)
    highest = dict.fromkeys((1, 3, 5), 0)
    rounds, averages = 500, 36.997  # Welch 1967 for 39 half-overlapping Hann windows
    for _ in range(rounds):
        power = welch(rng.standard_normal(20 * 400), 400, nperseg=400)[1][20:180] * 200
        for width in highest:
            limit = noise_limit(averages, width, power.size, 0.1)
            highest[width] += int(smoothed(power, width).max() > limit)
    # 10 % were allowed; Bonferroni holds below that, but not far below for single lines.
    assert 0.04 < highest[1] / rounds < 0.12
    assert all(0.0 < count / rounds < 0.13 for count in highest.values())


def test_that_joining_keeps_the_mean_and_the_shape() -> None:
    ratio = np.arange(12.0)
    np.testing.assert_allclose(smoothed(ratio, 3)[1:-1], ratio[1:-1])
    assert smoothed(ratio, 5).shape == ratio.shape


def test_that_nine_of_ten_crests_stay_below_their_limit() -> None:
    ratio = np.ones(41)
    ratio[1::2] = 1.0 + np.arange(1, 21) / 10
    assert crest_limit(ratio) == pytest.approx(1.0 + 0.1 + 0.9 * 1.9)
    assert crest_limit(ratio[:9]) == 1.0
