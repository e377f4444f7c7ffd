"""Worths against R, against a logistic regression, and against their own properties."""

import math
from random import Random

import numpy as np
import pytest
import statsmodels.api as sm
from gathered_tables import counts_of_wins
from hypothesis import example, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy import stats

from ratings.statistics.preference.pair_counts import PairCounts, count_choices
from ratings.statistics.preference.worth import fit_worths, share_interval, unanimous_share

#: R 4.2.2 glm(binomial), and eba or psychotools; the data came in GPL packages.
COUNT_TABLES = [
    "bt_drugrisk_female30",
    "bt_drugrisk_female31",
    "bt_drugrisk_male30",
    "bt_drugrisk_male31",
    "bt_soundquality_beethoven_after",
    "bt_soundquality_beethoven_before",
    "bt_soundquality_steelydan_before",
    "bt_soundquality_sting_before",
    "kendall_u_schoolsubjects_boys",
    "kendall_u_schoolsubjects_girls",
]

full_tables = st.integers(3, 5).flatmap(
    lambda sets: arrays(np.float64, (sets, sets), elements=st.integers(1, 9).map(float))
)


def pairs_of(rows, tie_column=None):
    """Rows of first, second, first chosen, ..., second chosen."""
    names = list(dict.fromkeys([row[0] for row in rows] + [row[1] for row in rows]))
    counts = [[row[2], row[-1], row[tie_column] if tie_column else 0] for row in rows]
    first, second = (np.array([names.index(row[i]) for row in rows]) for i in (0, 1))
    return names, PairCounts(len(names), first, second, np.array(counts, dtype=float))


@pytest.mark.parametrize("name", COUNT_TABLES)
def test_that_worths_equal_r_on_tables_of_choices(shared_case, name):
    case = shared_case(name)
    expected = {e["name"]: e for e in case["expected"]}
    found = fit_worths(counts_of_wins(np.array(case["data"]["values"], dtype=float)))
    worth = np.exp(found.log_worth) / np.exp(found.log_worth).sum()
    for index, label in enumerate(case["data"]["labels"]):
        entry = expected[f"BT log-worth {label}"]
        assert found.log_worth[index] == pytest.approx(entry["value"], abs=1e-6)
        assert found.se[index] == pytest.approx(entry["SE"], abs=1e-6)
        assert worth[index] == pytest.approx(entry["worth"], abs=1e-6)
        if f"psychotools worth {label}" in expected:
            entry = expected[f"psychotools worth {label}"]
            assert worth[index] == pytest.approx(entry["value"], abs=1e-6)
    for entry, test in (("BT goodness of fit", "fit"), ("LR test of equal worth", "equal_worth")):
        ours = getattr(found, test)
        assert ours.chi_square == pytest.approx(expected[entry]["value"], abs=1e-6)
        assert ours.df == expected[entry]["df"]
        assert ours.p == pytest.approx(expected[entry]["p"], rel=1e-6)
    assert found.fit.chi_square == pytest.approx(expected["eba G2"]["value"], abs=1e-3)


def test_that_the_order_effect_equals_r_on_weights_in_both_orders(shared_case):
    case = shared_case("bt_heaviness_order_effect")
    names, pairs = pairs_of(case["data"]["rows"])
    found = fit_worths(pairs, order=True)
    order, *worths, fit, multiplied = case["expected"]
    assert found.order_effect == pytest.approx(order["value"], abs=1e-6)
    assert found.order_effect_se == pytest.approx(order["SE"], abs=1e-6)
    for entry in worths:
        index = names.index(entry["name"].split()[1])
        assert found.log_worth[index] == pytest.approx(entry["value"], abs=1e-6)
        assert found.se[index] == pytest.approx(entry["SE"], abs=1e-6)
    assert found.fit.chi_square == pytest.approx(fit["value"], abs=1e-6)
    assert found.fit.df == fit["df"]
    assert np.exp(-found.order_effect) == pytest.approx(multiplied["value"], abs=1e-4)


@pytest.mark.parametrize("name", ["davidson_soundfields_cello", "davidson_soundfields_violin"])
def test_that_ties_equal_r_on_sound_fields(shared_case, name):
    case = shared_case(name)
    names, pairs = pairs_of(case["data"]["rows"], tie_column=3)
    found = fit_worths(pairs)
    centred = found.log_worth - found.log_worth.mean()
    *worths, log_nu, fit = case["expected"]
    for entry in worths:
        assert centred[names.index(entry["name"].split()[-1])] == pytest.approx(
            entry["value"], abs=1e-5
        )
    assert found.log_nu == pytest.approx(log_nu["value"], abs=1e-5)
    assert found.log_nu_se == pytest.approx(log_nu["SE"], abs=1e-5)
    assert found.fit.chi_square == pytest.approx(fit["value"], abs=1e-5)
    assert found.fit.df == fit["df"]


def test_that_ties_equal_r_on_many_choices(shared_case):
    case = shared_case("davidson_ties_cems")
    names, pairs = pairs_of(case["data"]["rows"], tie_column=3)
    found = fit_worths(pairs)
    *worths, log_nu, undecided, fit = case["expected"]
    for entry in worths:
        index = names.index(entry["name"].split()[2])
        assert found.log_worth[index] == pytest.approx(entry["value"], abs=1e-4)
        assert found.se[index] == pytest.approx(entry["SE"], abs=1e-4)
    assert found.log_nu == pytest.approx(log_nu["value"], abs=1e-4)
    assert found.log_nu == pytest.approx(undecided["value"], abs=1e-4)
    assert found.log_nu_se == pytest.approx(log_nu["SE"], abs=1e-4)
    assert found.fit.chi_square == pytest.approx(fit["value"], abs=1e-4)
    assert found.fit.df == fit["df"]


def test_that_ties_and_order_together_equal_r(reference):
    case = reference("choices_with_ties_and_order")
    _, pairs = pairs_of(case["rows"], tie_column=3)
    found = fit_worths(pairs, order=True)
    close = {"abs": case["tolerance"]}
    assert found.log_worth == pytest.approx(case["log_worth"], **close)
    assert found.se == pytest.approx(case["se"], **close)
    assert [found.log_nu, found.log_nu_se] == pytest.approx(case["log_nu"], **close)
    assert [found.order_effect, found.order_effect_se] == pytest.approx(
        case["order_effect"], **close
    )
    assert [found.fit.chi_square, found.fit.df] == pytest.approx(case["deviance"], **close)


# statsmodels calls it separation when the fitted shares are the observed ones.
@pytest.mark.filterwarnings("ignore:Perfect separation")
@given(full_tables)
@settings(max_examples=30, deadline=None)
def test_that_worths_equal_a_logistic_regression(wins):
    np.fill_diagonal(wins, 0.0)
    found = fit_worths(counts_of_wins(wins))
    low, high = np.triu_indices(len(wins), 1)
    design = np.zeros((len(low), len(wins)))
    design[np.arange(len(low)), low] = 1.0
    design[np.arange(len(low)), high] = -1.0
    outcomes = np.stack([wins[low, high], wins[high, low]], axis=1)
    fitted = sm.GLM(outcomes, design[:, 1:], family=sm.families.Binomial()).fit(tol=1e-13)
    np.testing.assert_allclose(found.log_worth[1:], fitted.params, atol=1e-7)
    np.testing.assert_allclose(found.se[1:], fitted.bse, rtol=1e-5)
    assert found.fit.chi_square == pytest.approx(fitted.deviance, abs=1e-7)
    assert found.fit.df == fitted.df_resid
    # Every pair at even odds has no coefficient at all.
    even = sm.families.Binomial().deviance(
        outcomes[:, 0] / outcomes.sum(axis=1), 0.5, freq_weights=outcomes.sum(axis=1)
    )
    equal = found.equal_worth
    assert equal.chi_square == pytest.approx(even - fitted.deviance, abs=1e-7)
    assert equal.p == pytest.approx(stats.chi2.sf(equal.chi_square, len(wins) - 1), rel=1e-9)


@pytest.mark.filterwarnings("ignore:Perfect separation")
@given(full_tables)
@settings(max_examples=20, deadline=None)
def test_that_the_order_effect_equals_the_constant_of_a_logistic_regression(wins):
    first, second = np.nonzero(~np.eye(len(wins), dtype=bool))
    counts = np.stack([wins[first, second], np.roll(wins[first, second], 1)], axis=1)
    without_ties = np.column_stack([counts, np.zeros(len(first))])
    found = fit_worths(PairCounts(len(wins), first, second, without_ties), order=True)
    design = np.eye(len(wins))[first] - np.eye(len(wins))[second]
    design[:, 0] = 1.0
    fitted = sm.GLM(counts, design, family=sm.families.Binomial()).fit(tol=1e-13)
    assert found.order_effect == pytest.approx(fitted.params[0], abs=1e-6)
    assert found.order_effect_se == pytest.approx(fitted.bse[0], rel=1e-5)
    np.testing.assert_allclose(found.log_worth[1:], fitted.params[1:], atol=1e-6)
    np.testing.assert_allclose(found.se[1:], fitted.bse[1:], rtol=1e-5)
    assert found.fit.chi_square == pytest.approx(fitted.deviance, abs=1e-6)
    assert found.fit.df == fitted.df_resid


@pytest.mark.filterwarnings("ignore:Perfect separation")
@given(full_tables, st.integers(1, 6))
@settings(max_examples=20, deadline=None)
def test_that_ties_equal_a_log_linear_model(wins, ties):
    """Davidson's model is one of counts: a level for each pair, worths, and half of both in a tie.

    Fienberg SE (1979) Biometrics 35:479-481 (from memory).
    """
    low, high = np.triu_indices(len(wins), 1)
    tied = (low + high + ties) % 4 + 1.0
    counts = np.stack([wins[low, high], wins[high, low], tied], axis=1)
    found = fit_worths(PairCounts(len(wins), low, high, counts))
    one, other = np.eye(len(wins))[low], np.eye(len(wins))[high]
    pair = np.eye(len(low))
    nothing, tie = np.zeros((len(low), 1)), np.ones((len(low), 1))
    design = np.concatenate(
        [
            np.hstack([pair, one[:, 1:], nothing]),
            np.hstack([pair, other[:, 1:], nothing]),
            np.hstack([pair, (one + other)[:, 1:] / 2, tie]),
        ]
    )
    fitted = sm.GLM(counts.T.ravel(), design, family=sm.families.Poisson()).fit(tol=1e-13)
    *worths, log_nu = fitted.params[len(low) :]
    *se, log_nu_se = fitted.bse[len(low) :]
    np.testing.assert_allclose(found.log_worth[1:], worths, atol=1e-6)
    np.testing.assert_allclose(found.se[1:], se, rtol=1e-5)
    assert [found.log_nu, found.log_nu_se] == pytest.approx([log_nu, log_nu_se], rel=1e-5, abs=1e-6)
    assert found.fit.chi_square == pytest.approx(fitted.deviance, abs=1e-6)
    assert found.fit.df == fitted.df_resid


# Its last step climbs by less than the log-likelihood is rounded to.
@example(np.array([[1.0, 9.0, 4.0], [3.0, 1.0, 6.0], [3.0, 9.0, 1.0]]), Random(0))
@given(full_tables, st.randoms(use_true_random=False))
@settings(max_examples=30, deadline=None)
def test_that_the_order_of_the_sets_does_not_matter(wins, random):
    order = list(range(len(wins)))
    random.shuffle(order)
    plain = fit_worths(counts_of_wins(wins))
    mixed = fit_worths(counts_of_wins(wins[np.ix_(order, order)]))
    expected = plain.log_worth[order] - plain.log_worth[order[0]]
    np.testing.assert_allclose(mixed.log_worth, expected, atol=1e-8)
    one, other = order.index(0), order.index(len(wins) - 1)
    assert mixed.lead(one, other) == pytest.approx(plain.lead(0, len(wins) - 1), abs=1e-8)


def test_that_a_set_chosen_every_time_is_told_and_not_made_infinite():
    found = fit_worths(counts_of_wins(np.array([[0.0, 5, 3], [0, 0, 4], [0, 2, 0]])))
    assert found.log_worth is None
    assert "never passed over" in found.reason
    assert (found.above, found.below) == ((0,), (1, 2))
    assert np.isnan(found.lead(0, 1)).all()


def test_that_one_tie_makes_a_set_that_always_won_finite():
    pairs = PairCounts(2, np.array([0]), np.array([1]), np.array([[5.0, 0.0, 1.0]]))
    assert fit_worths(pairs).log_worth is None
    pairs = PairCounts(2, np.array([0]), np.array([1]), np.array([[5.0, 1.0, 1.0]]))
    found = fit_worths(pairs)
    # Closed form for one pair: w = 5 : 1, nu sqrt(5 * 1) = 1.
    assert found.log_worth[1] == pytest.approx(-np.log(5))
    assert found.log_nu == pytest.approx(-np.log(5) / 2)
    assert found.fit.df == 0
    assert found.fit.p is None


@pytest.mark.parametrize(
    ("rows", "order", "reason"),
    [
        ([(0, 1, 3, 2, 0), (2, 3, 1, 2, 0)], False, "never compared"),
        ([(0, 1, 0, 0, 4)], False, "no difference"),
        ([(0, 1, 3, 2, 0)], True, "heard first"),
        ([(0, 1, 3, 0, 0), (1, 0, 4, 0, 0)], True, "The place, first or second"),
    ],
)
def test_that_what_cannot_be_fitted_is_told_in_words(rows, order, reason):
    table = np.array(rows, dtype=float)
    first, second = table[:, 0].astype(int), table[:, 1].astype(int)
    pairs = PairCounts(int(table[:, :2].max()) + 1, first, second, table[:, 2:])
    found = fit_worths(pairs, order=order)
    assert found.log_worth is None
    assert reason in found.reason


def test_that_nothing_and_one_set_are_told_in_words():
    nobody = np.zeros(0, dtype=np.intp)
    assert "no choices" in fit_worths(count_choices(nobody, nobody, nobody, 3)).reason
    assert "One set" in fit_worths(counts_of_wins(np.zeros((1, 1)))).reason


def test_that_missing_choices_and_null_pairs_are_passed_over():
    first, second = np.array([0, 0, 1, 1, 2]), np.array([1, 1, 0, 1, 0])
    choice = np.array([0, -1, 2, 0, 1])
    pairs = count_choices(first, second, choice, 3)
    assert pairs.counts.sum() == 3
    assert pairs.wins().tolist() == [[0, 1, 1], [0, 0, 0], [0, 0, 0]]
    merged = pairs.without_order()
    assert merged.first.tolist() == [0, 0]
    assert merged.counts.tolist() == [[1, 0, 1], [1, 0, 0]]


@pytest.mark.slow
def test_that_equal_worth_is_rejected_at_its_nominal_rate():
    # Seeded; 400 panels of 12 evaluators and 5 sets who only guess. Binomial error is 1.1 %.
    rng = np.random.default_rng(20)
    rejected = 0
    for _ in range(400):
        low, high = np.triu_indices(5, 1)
        won = rng.binomial(12, 0.5, len(low))
        counts = np.stack([won, 12 - won, np.zeros(len(low))], axis=1).astype(float)
        rejected += fit_worths(PairCounts(5, low, high, counts)).equal_worth.p < 0.05
    assert 0.02 < rejected / 400 < 0.08


@pytest.mark.slow
def test_that_standard_errors_cover_the_true_worth():
    # Seeded; 95 % intervals of 4 worths in 250 simulated panels: 1000, error about 0.8 %.
    rng = np.random.default_rng(21)
    true = np.array([0.0, 0.4, 0.8, -0.5, 1.2])
    low, high = np.triu_indices(5, 1)
    share = 1 / (1 + np.exp(true[high] - true[low]))
    covered = 0
    for _ in range(250):
        won = rng.binomial(30, share)
        counts = np.stack([won, 30 - won, np.zeros(len(low))], axis=1).astype(float)
        found = fit_worths(PairCounts(5, low, high, counts))
        covered += (np.abs(found.log_worth - true)[1:] < 1.96 * found.se[1:]).sum()
    assert 0.93 < covered / 1000 < 0.97


def test_that_independent_choices_have_the_exact_binomial_interval():
    error = (10 * 0.9 * 0.1) ** -0.5
    expected = stats.binomtest(9, 10).proportion_ci(0.95, "exact")
    assert share_interval(math.log(9), error, 10, 10) == pytest.approx(tuple(expected))


def test_that_choices_of_few_evaluators_are_worth_fewer():
    error = (100 * 0.9 * 0.1) ** -0.5
    narrow, wide = (share_interval(math.log(9), error, each, 100) for each in (100, 4))
    assert wide[0] < narrow[0] < 0.9 < narrow[1] < wide[1]


def test_that_evaluators_without_exception_have_the_exact_one_sided_limit():
    expected = stats.binomtest(8, 8, alternative="greater").proportion_ci(0.95, "exact").low
    assert unanimous_share(8) == pytest.approx(expected)
