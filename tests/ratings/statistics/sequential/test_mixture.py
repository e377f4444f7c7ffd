"""The mixture likelihood ratio, by integrating over what it mixes."""

import math

import numpy as np
import pytest
from scipy import integrate, stats

from ratings.statistics.sequential.mixture import log_evidence, most_evidence, t_to_reach


@pytest.mark.parametrize(("t", "n"), [(0.0, 3), (1.3, 2), (2.5, 6), (-4.0, 9), (7.0, 5)])
@pytest.mark.parametrize("spread", [0.25, 1.0, 4.0])
def test_that_the_closed_form_is_the_noncentral_t_mixed_over_differences(t, n, spread):
    # Scale-invariant: the density of t with a true difference of d standard deviations over that
    # with none, averaged over d ~ N(0, spread).
    def weighed(d):
        return stats.nct.pdf(t, n - 1, d * math.sqrt(n)) * stats.norm.pdf(d, 0, math.sqrt(spread))

    mixed, _ = integrate.quad(weighed, -12, 12, points=[0.0, t / math.sqrt(n)], limit=200)
    expected = mixed / stats.t.pdf(t, n - 1)
    assert math.exp(log_evidence(t, n, spread)) == pytest.approx(expected, rel=1e-6)


def test_that_the_bound_in_t_is_where_the_evidence_reaches_it():
    for n in (3, 6, 20):
        t = t_to_reach(math.log(5.0), n) if n > 3 else t_to_reach(math.log(3.5), n)
        assert math.exp(log_evidence(t, n)) == pytest.approx(5.0 if n > 3 else 3.5)


def test_that_three_evaluators_cannot_reach_more_than_four():
    assert math.exp(most_evidence(3)) == pytest.approx(4.0)
    assert t_to_reach(math.log(4.01), 3) == math.inf
    assert np.exp(log_evidence(1e9, 3)) == pytest.approx(4.0)
