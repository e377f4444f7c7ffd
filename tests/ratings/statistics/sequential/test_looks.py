"""What one look finds, and that looks together hold their level."""

import math

import numpy as np
import pytest
from benchmarks.looks import NULL, REAL, false_claims, found
from scipy import integrate, stats

from ratings.statistics.sequential.crossing import crossing_chance, look_bound
from ratings.statistics.sequential.looks import (
    FINAL_LEVEL,
    LOOK_SHARE,
    Plan,
    bounds_by_holm,
    look_at,
)
from ratings.statistics.sequential.mixture import log_evidence, t_to_reach
from ratings.statistics.sequential.outlook import Known, chance_to_settle
from ratings.study.constants import ALPHA

STUDIES = 2000


def most(share, studies=STUDIES):
    """Return the share that one simulation in a thousand exceeds by luck."""
    return stats.binom.ppf(0.999, studies, share) / studies


@pytest.mark.parametrize(
    "name",
    [
        "one difference, half points",
        "3 sets, 3 attributes",
        "uneven scatter",
        "set x condition",
        "sharper than the steps",
    ],
)
def test_that_looks_after_every_evaluator_hold_their_level(name):
    naive, at_share, looks, looks_or_end, extended = false_claims(
        NULL[name], STUDIES, np.random.default_rng(1)
    )
    assert looks <= most(LOOK_SHARE * ALPHA)
    assert looks_or_end <= most((1 + LOOK_SHARE) * ALPHA)
    assert extended <= most(ALPHA)
    # The same studies show what these limits would catch: a t test looked at each time.
    assert min(naive, at_share) > most(ALPHA)


@pytest.mark.parametrize("planned", [4, 8, 16])
@pytest.mark.parametrize("comparisons", [1, 21])
def test_that_looks_and_a_verdict_at_the_final_level_hold_the_level_together(planned, comparisons):
    bound, share = Plan(planned).bound(comparisons), ALPHA / comparisons
    looks = {n: t_to_reach(bound, n) for n in range(3, planned)}

    def both(level):
        return crossing_chance({**looks, planned: stats.t.isf(level / 2, planned - 1)})

    assert both(FINAL_LEVEL / comparisons) <= share * 1.03
    # The verdict on its page adds its whole level: 5 to 6 % (the chance is good to 2 %).
    assert share * 0.98 < both(share) <= share * 1.22


def test_that_looks_and_a_verdict_that_both_spend_the_whole_level_claim_too_often():
    bound = look_bound(3, 16, ALPHA)
    bounds = {n: t_to_reach(bound, n) for n in range(3, 17)}
    bounds[16] = min(bounds[16], stats.t.isf(ALPHA / 2, 15))
    assert crossing_chance(bounds) == pytest.approx(0.08, abs=0.002)


def test_that_looks_take_nothing_from_what_is_found_and_promises_are_kept():
    of = found(REAL["3 sets, 3 attributes, 12"], 500, np.random.default_rng(2))
    assert of.with_looks >= of.by_the_end > 0.3
    assert of.finished < 11.5
    # Each was promised with 80 % or more; a study's promises hang together: 8 % either way.
    assert of.promises > 100
    assert of.kept >= 0.8 - 0.08


def test_that_a_look_is_students_t_of_the_evaluators_own_differences():
    values = np.array([[0.5, 1.0], [1.0, -0.5], [2.0, np.nan], [0.0, 0.5]])
    look = look_at(values)
    for column in range(2):
        own = values[:, column][~np.isnan(values[:, column])]
        t = stats.ttest_1samp(own, 0.0).statistic
        assert look.evaluators[column] == own.size
        assert look.mean[column] == pytest.approx(own.mean())
        assert look.sd[column] == pytest.approx(own.std(ddof=1))
        assert look.evidence[column] == pytest.approx(log_evidence(t, own.size))


def test_that_few_evaluators_are_no_figures_and_no_fault():
    look = look_at(np.array([[np.nan, 0.5, 0.5], [np.nan, np.nan, 1.0]]), 0.01)
    assert look.evaluators.tolist() == [0, 1, 2]
    assert np.isnan(look.mean).tolist() == [True, False, False]
    assert np.isnan(look.sd).tolist() == np.isnan(look.evidence).tolist() == [True, True, False]


def test_that_evaluators_who_agree_to_the_step_are_no_surer_than_the_step():
    rounding = 0.5**2 / 6
    alike, nearly = look_at(np.array([[0.5, 0.5]] * 3 + [[0.5, 0.49]]), rounding).evidence
    t = 0.5 / math.sqrt(rounding / 4)
    assert alike == pytest.approx(log_evidence(t, 4))
    assert nearly == pytest.approx(alike, rel=0.1)
    # Three who agree by one step are no claim.
    three = look_at(np.full((3, 1), 0.5), rounding).evidence
    assert three[0] < Plan(8).bound()


def test_that_no_difference_and_no_scatter_are_no_evidence():
    look = look_at(np.zeros((5, 1)))
    assert look.evidence[0] == pytest.approx(-math.log(6) / 2)


def test_that_the_interval_holds_what_the_same_test_would_not_reject():
    values = np.random.default_rng(3).normal(0.6, 0.7, (6, 1))
    for plan in (Plan(9), Plan(None)):
        look = look_at(values)
        half = plan.half_width(6, look.sd[0])
        for bound in (look.mean[0] - half, look.mean[0] + half):
            assert look_at(values - bound).evidence[0] == pytest.approx(plan.bound())
    assert Plan(9).half_width(6, 1.0) < Plan(None).half_width(6, 1.0)


def test_that_holm_asks_less_of_each_comparison_that_follows():
    evidence = np.log([30.0, 300.0, np.nan, 3.0])

    def bound(comparisons):
        return math.log(25.0 * comparisons)

    asked, settled = bounds_by_holm(evidence, bound)
    # 300 passes 4 x 25; then 30 fails 3 x 25, and so does all that is less.
    assert settled.tolist() == [False, True, False, False]
    assert np.exp(asked) == pytest.approx([75, 100, 75, 75])


def test_that_a_plan_of_three_has_no_look_before_its_end():
    assert Plan(3).bound() == math.inf
    assert Plan(3).half_width(3, 1.0) == math.inf


@pytest.mark.parametrize(("mean", "clear", "same"), [(0.9, 3.0, np.inf), (0.1, 9.0, 1.2)])
def test_that_the_chance_at_the_next_evaluator_is_the_predictive_t(mean, clear, same):
    n, sd, margin = 6, 0.8, 0.5

    def settles(step):
        moved = step * sd * math.sqrt(1 + 1 / n)
        new = mean + moved / (n + 1)
        squares = (n - 1) * sd**2 + n / (n + 1) * moved**2
        se = math.sqrt(squares / n / (n + 1))
        return (abs(new) >= clear * se or abs(new) + same * se <= margin) * stats.t.pdf(step, n - 1)

    expected, _ = integrate.quad(settles, -12, 12, limit=2000)
    drawn = chance_to_settle(Known(n, mean, sd), np.array([clear]), np.array([same]), margin)
    assert 0.05 < expected < 0.95
    assert drawn[0] == pytest.approx(expected, abs=4 * math.sqrt(0.25 / 1000))


def test_that_an_early_difference_promises_less_than_one_that_has_evidence():
    clear = np.array([t_to_reach(math.log(14.0), n) for n in range(5, 9)])
    never = np.full(4, np.inf)
    early = chance_to_settle(Known(4, 0.9, 0.4, math.log(2.0)), clear, never, 0.5)
    sure = chance_to_settle(Known(4, 0.9, 0.4, math.log(200.0)), clear, never, 0.5)
    assert (np.diff(sure) >= 0).all()
    assert early[-1] <= 2 / 3 + 0.05 < sure[-1]


def test_that_a_scatter_which_is_small_by_luck_is_not_counted_on():
    clear, never = np.full(6, 5.0), np.full(6, np.inf)
    lucky = chance_to_settle(Known(4, 0.5, 0.2), clear, never, 0.5)
    usual = chance_to_settle(Known(4, 0.5, 0.2, usual_sd=0.8), clear, never, 0.5)
    assert usual[-1] < lucky[-1] - 0.1
