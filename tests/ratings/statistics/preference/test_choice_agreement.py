"""Agreement and transitivity of a panel's choices against R and by hand."""

import itertools

import numpy as np
import pytest
from gathered_tables import votes_of_wins
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy import stats

from ratings.statistics.preference.choice_agreement import choice_agreement
from ratings.statistics.preference.triads import transitivity_violations

SOUND = [
    f"bt_soundquality_{name}"
    for name in ("beethoven_after", "beethoven_before", "steelydan_before", "sting_before")
]
RISK = [f"bt_drugrisk_{name}" for name in ("female30", "female31", "male30", "male31")]
SCHOOL = ["kendall_u_schoolsubjects_boys", "kendall_u_schoolsubjects_girls"]


@pytest.mark.parametrize("name", SCHOOL)
def test_that_u_equals_r_with_and_without_correction(shared_case, name):
    # R 4.2.2 eba 1.10.1 kendall.u.
    case = shared_case(name)
    wins = np.array(case["data"]["values"], dtype=float)
    total, corrected, plain = case["expected"][:3]
    found = choice_agreement(votes_of_wins(wins))
    assert found.agreeing == total["value"]
    assert found.u == pytest.approx(corrected["value"], abs=1e-8)
    assert found.smallest_u == pytest.approx(corrected["min_u"], abs=1e-8)
    for entry, continuity in ((corrected, True), (plain, False)):
        test = choice_agreement(votes_of_wins(wins), continuity=continuity)
        ours = [test.chi_square, test.df, test.p]
        theirs = [entry.get("chi2", entry["value"]), entry["df"], entry["p"]]
        assert ours == pytest.approx(theirs, rel=1e-8)


@pytest.mark.parametrize("name", SOUND)
def test_that_u_equals_r_on_sound_quality(shared_case, name):
    case = shared_case(name)
    (entry,) = [e for e in case["expected"] if e["name"] == "Kendall u"]
    found = choice_agreement(votes_of_wins(np.array(case["data"]["values"], dtype=float)))
    ours = [found.u, found.smallest_u, found.chi_square, found.df]
    theirs = [entry["value"], entry["min_u"], entry["chi2"], entry["df"]]
    assert ours == pytest.approx(theirs, abs=1e-6)
    assert found.p == pytest.approx(entry["p"], rel=1e-6)


@pytest.mark.parametrize("name", SOUND + RISK + SCHOOL)
def test_that_transitivity_violations_equal_r(shared_case, name):
    # R 4.2.2 eba 1.10.1 strans.
    case = shared_case(name)
    (entry,) = [e for e in case["expected"] if "transitivity" in e["name"]]
    found = transitivity_violations(np.array(case["data"]["values"], dtype=float))
    assert [found.weak, found.moderate, found.strong] == entry["value"]
    assert found.triples == entry["of"]


@pytest.mark.parametrize(("evaluators", "sets"), [(3, 3), (4, 3), (6, 3), (7, 2)])
def test_that_chi_square_has_the_moments_of_its_distribution_over_all_outcomes(evaluators, sets):
    """Every outcome of guessing, with its chance: Kendall matched mean and variance."""
    low, high = np.triu_indices(sets, 1)
    outcomes = np.array(list(itertools.product(range(evaluators + 1), repeat=len(low))))
    chance = stats.binom.pmf(outcomes, evaluators, 0.5).prod(axis=1)
    plain, corrected = [], []
    for chosen in outcomes:
        wins = np.zeros((sets, sets))
        wins[low, high], wins[high, low] = chosen, evaluators - chosen
        plain.append(choice_agreement(votes_of_wins(wins), continuity=False))
        corrected.append(choice_agreement(votes_of_wins(wins)))
    df = plain[0].df
    for found in (plain, corrected):
        chi_squares = np.array([each.chi_square for each in found])
        tail = stats.chi2.sf(np.maximum(chi_squares, 0), df)
        assert [each.p for each in found] == pytest.approx(tail)
        centre = chance @ chi_squares
        assert chance @ np.square(chi_squares - centre) == pytest.approx(2 * df)
        # The correction takes one agreeing couple off.
        assert centre == pytest.approx(df if found is plain else df - 4 / (evaluators - 2))
    us = [each.u for each in plain]
    assert (min(us), max(us)) == pytest.approx((plain[0].smallest_u, 1.0))


@given(arrays(np.int64, (5, 5), elements=st.integers(0, 6)))
@settings(max_examples=60, deadline=None)
def test_that_violations_are_those_of_their_definitions(wins):
    wins = np.triu(wins, 1) + np.tril(6 - wins.T, -1)
    counted = np.zeros(3, dtype=int)
    for triple in itertools.combinations(range(5), 3):
        broken = np.zeros(3, dtype=bool)
        for x, y, z in itertools.permutations(triple):
            if wins[x, y] >= 3 and wins[y, z] >= 3:
                broken[0] |= wins[x, z] < 3
                broken[1] |= wins[x, z] < min(wins[x, y], wins[y, z])
                broken[2] |= wins[x, z] < max(wins[x, y], wins[y, z])
        counted += broken
    found = transitivity_violations(wins.astype(float))
    assert [found.weak, found.moderate, found.strong] == counted.tolist()
    assert found.triples == 10


@given(
    arrays(np.bool_, (4, 3), elements=st.booleans()),
    st.permutations(range(4)),
)
@settings(max_examples=40, deadline=None)
def test_that_u_of_evaluators_equals_the_share_of_agreeing_couples(first_chosen, order):
    low, high = np.triu_indices(3, 1)
    votes = np.zeros((4, 3, 3))
    votes[:, low, high] = first_chosen
    votes[:, high, low] = ~first_chosen
    agreeing = [
        first_chosen[one, pair] == first_chosen[other, pair]
        for one in range(4)
        for other in range(one)
        for pair in range(3)
    ]
    assert choice_agreement(votes).u == pytest.approx(2 * np.mean(agreeing) - 1)
    assert choice_agreement(votes[order]).u == choice_agreement(votes).u
    assert choice_agreement(votes).u == choice_agreement(votes_of_wins(votes.sum(axis=0))).u


def test_that_an_evaluator_is_not_compared_with_himself():
    votes = np.zeros((2, 2, 2))
    votes[0, 0, 1] = 3
    votes[1, 1, 0] = 1
    found = choice_agreement(votes)
    assert found.u == -1
    assert found.chi_square is None
    alone = choice_agreement(votes[:1])
    assert alone.u is None
    assert "No two evaluators" in alone.reason


def test_that_a_guessing_panel_has_p_in_the_tail_as_often_as_it_should():
    # Seeded; 800 panels of 8 guessers and 6 sets: at 5 % binomial error is 0.8 %.
    rng = np.random.default_rng(7)
    low, high = np.triu_indices(6, 1)
    small = 0
    for _ in range(800):
        chosen = rng.binomial(8, 0.5, len(low))
        wins = np.zeros((6, 6))
        wins[low, high], wins[high, low] = chosen, 8 - chosen
        small += choice_agreement(votes_of_wins(wins)).p < 0.05
    assert 0.02 < small / 800 < 0.08


def test_that_a_panel_in_a_circle_violates_weak_transitivity():
    wins = np.array([[0, 3, 1], [1, 0, 3], [3, 1, 0.0]])
    found = transitivity_violations(wins)
    assert (found.weak, found.moderate, found.strong, found.triples) == (1, 1, 1, 1)
    wins[0, 1] = wins[1, 0] = 0
    assert transitivity_violations(wins).triples == 0
