import math

import pytest

from ratings.errors import RatingsError
from ratings.study.limits import LIMIT_NAMES, Limits


def test_that_a_study_starts_with_the_limits_of_common_practice():
    limits = Limits()
    assert (limits.small, limits.matters, limits.customer) == (0.25, 0.5, 1.0)
    assert limits.drift_points == 0.5
    assert list(LIMIT_NAMES) == list(Limits.__slots__)


@pytest.mark.parametrize("value", [0, -0.5, math.nan, math.inf, True, "0.5", None])
@pytest.mark.parametrize("name", list(LIMIT_NAMES))
def test_that_a_limit_that_is_no_size_of_a_difference_is_refused(name, value):
    with pytest.raises(RatingsError, match="cannot be the size of a difference") as refusal:
        Limits(**{name: value})
    assert "such as 0.5" in refusal.value.what_to_do


@pytest.mark.parametrize(
    ("small", "matters", "customer"), [(0.5, 0.5, 1), (0.25, 1, 1), (0.25, 0.2, 1), (0.6, 0.5, 1)]
)
def test_that_limits_that_do_not_rise_are_refused(small, matters, customer):
    with pytest.raises(RatingsError, match=f"{small:g}, {matters:g} and {customer:g} do not rise"):
        Limits(small, matters, customer)
