"""On what a panel is said to agree, in the light of how much was looked at."""

import numpy as np
import pandas as pd
import pytest
from statsmodels.stats.multitest import multipletests

from ratings.findings.agreement import agreement, claimed_together
from ratings.findings.agreement_words import headline, without_flagged_finding
from ratings.study.attributes import Scale
from ratings.study.constants import ALPHA


def study(scores):
    """Long table from an array (attributes, evaluators, sets, conditions)."""
    scores = np.asarray(scores, dtype=float)
    places = np.indices(scores.shape).reshape(4, -1)
    columns = {
        name: [f"{letter}{index + 1}" for index in place]
        for name, letter, place in zip(
            ("attribute", "evaluator", "set", "condition"), "aESC", places, strict=True
        )
    }
    return pd.DataFrame({**columns, "score": scores.ravel()})


def at_random(rng, attributes=8, evaluators=6, sets=4, conditions=1):
    """Scores in half points in which no set differs."""
    shape = attributes, evaluators, sets, conditions
    own = rng.normal(0, 0.4, (attributes, evaluators, sets, 1))
    return np.round(2 * (6 + own + rng.normal(0, 0.7, shape))) / 2


def test_that_each_attribute_is_adjusted_for_the_others_as_statsmodels_does():
    rng = np.random.default_rng(4)
    scores = at_random(rng) + np.arange(4)[:, None] * np.linspace(0, 1, 8)[:, None, None, None]
    blocks = agreement(study(scores), Scale())
    p = [block.kendall.p for block in blocks]
    expected = multipletests(p, method="holm")[1]
    assert [block.p_holm for block in blocks] == pytest.approx(expected)
    assert [block.agrees for block in blocks] == list(expected <= ALPHA)
    # One of them would have been claimed by itself: the case tells the two rules apart.
    assert sum(p <= ALPHA for p in p) > sum(expected <= ALPHA) > 0


@pytest.mark.parametrize(("attributes", "conditions"), [(8, 1), (3, 3)])
def test_that_panels_on_which_no_set_differs_are_rarely_said_to_agree(attributes, conditions):
    # Without adjusting, 34 % of studies of eight attributes claim one, and more with conditions.
    # At 5 % seven or more of 40 have a chance of 0.3 %.
    rng = np.random.default_rng(11)
    claimed = 0
    for _ in range(40):
        scores = at_random(rng, attributes, conditions=conditions)
        blocks = agreement(study(scores), Scale())
        claimed += any(b.agrees or b.agrees_in for b in blocks if b.condition is None)
    assert claimed <= 6


def test_that_opposite_orders_in_two_conditions_are_agreement_in_each():
    order = np.arange(4.0)
    steps = np.stack([order, -order], axis=1)
    noise = np.random.default_rng(2).choice([-0.5, 0.0, 0.5], (2, 6, 4, 2))
    noise[1] += 5 * np.random.default_rng(3).choice([-0.5, 0.0, 0.5], (6, 4, 2))
    scores = 6 + noise + np.stack([steps, 0 * steps])[:, None]
    blocks = agreement(study(scores), Scale(-9, 20))
    whole = next(block for block in blocks if block.condition is None)
    assert whole.agrees is False
    assert whole.agrees_in == ("C1", "C2")
    assert whole.sentence.endswith(
        "The order of the sets depends on the condition: taken by itself, the panel agrees in C1 "
        "(W 0.97) and C2 (W 0.99)."
    )
    assert headline(blocks) == (
        "The panel agrees in single conditions on a1 (W 0.97 in C1 and 0.99 in C2), not on a2."
    )
    assert headline(blocks, "C1") == "The panel agrees on a1, not on a2."


def test_that_an_attribute_of_one_condition_is_marked_alike_under_all_conditions():
    rng = np.random.default_rng(5)
    scores = at_random(rng, attributes=4, conditions=3)
    # Rare among four attributes, and not among ten W.
    scores[0, :, :, 0] = 6 + LOOSE_ORDERS
    table = study(scores)
    blocks = agreement(table[(table["attribute"] != "a1") | (table["condition"] == "C1")], Scale())
    whole, single = (block for block in blocks if block.attribute == "a1")
    assert whole.agrees
    assert 10 * whole.kendall.p > ALPHA
    for name in ("p_holm", "chance_w", "agrees", "degree", "sentence"):
        assert getattr(single, name) == getattr(whole, name)


#: Orders of six evaluators with W 0.59 and p 0.007.
LOOSE_ORDERS = np.array(
    [[0, 1, 2, 3], [0, 3, 1, 2], [1, 0, 2, 3], [0, 2, 1, 3], [1, 0, 3, 2], [0, 1, 2, 3.0]]
)


def test_that_one_condition_leads_where_all_together_do_not_agree():
    # Nothing shows that the order depends on the condition: the others scatter too much.
    rng = np.random.default_rng(0)
    scores = 6 + 2 * rng.permuted(np.tile(np.arange(4.0), (1, 6, 3, 1)), axis=3).swapaxes(2, 3)
    scores[0, :, :, 2] = 6 + np.arange(4)
    scores[0, 0, :, 2] = 6, 8, 7, 9
    blocks = agreement(study(scores), Scale(0, 20))
    whole, single = blocks[0], blocks[-1]
    assert (whole.degree, single.degree) == ("not above chance", "well")
    assert whole.agrees_in == (single.condition,) == ("C3",)
    assert whole.p_by_condition > ALPHA
    assert headline(blocks) == "The panel agrees in single conditions on a1 (W 0.94 in C3)."
    assert whole.sentence.endswith("Taken by itself, the panel agrees in C3 (W 0.94).")


@pytest.mark.parametrize("name", ["name", "much_longer_name"])
def test_that_a_heading_does_not_outgrow_three_lines(name):
    # A line of the page at 1280 x 720 holds 57 letters.
    step = np.arange(4.0)
    one = np.stack([step, -step], axis=1)[None]
    scores = np.broadcast_to(6 + one, (8, 6, 4, 2)) + np.arange(6)[:, None, None] / 2
    table = study(scores)
    table["attribute"] = table["attribute"] + f"_a_{name}"
    said = headline(agreement(table, Scale(0, 20)))
    assert len(said) <= 170
    assert said.startswith("The panel agrees in single conditions on a1 a ")
    assert ("a8 a name" in said) == (name == "name")
    assert said.endswith(" and 5 more.") == (name != "name")


#: Five evaluators of one opinion, and one of the contrary.
CONTRARY = np.vstack([np.tile(np.arange(4.0), (5, 1)), 3 - np.arange(4.0)])


def test_that_agreement_is_not_certain_where_its_interval_reaches_down_to_chance():
    noise = np.random.default_rng(1).choice([-0.5, 0.0, 0.5], (6, 4))
    (block,) = agreement(study((6 + CONTRARY + noise)[None, :, :, None]), Scale(0, 20))
    assert block.p_holm <= ALPHA
    assert block.agrees
    assert block.kendall.lower < 1 / 6
    assert block.degree == "not certain"
    assert block.sentence.startswith("Agrees, but how well is not certain: W ")
    assert "where chance gives 0.17 on average" in block.sentence


def test_that_two_evaluators_cannot_say_how_well():
    two = np.array([[1, 2, 3, 4, 5, 6], [1, 2, 3, 4, 6, 5.0]])
    (block,) = agreement(study(two[None, :, :, None]), Scale())
    assert block.agrees
    assert block.degree == "not certain"
    assert block.sentence.startswith("Agrees, but two evaluators cannot say how well: W 0.97;")


def test_that_the_flagged_are_named_where_the_word_would_be_better_without_them():
    rng = np.random.default_rng(3)
    noise = rng.choice([-0.5, 0.0, 0.5], (3, 6, 4, 2))
    scores = 6 + CONTRARY[:, :, None] + noise
    scores[2, :5] = 6 + np.arange(4)[:, None] + noise[2, :5]
    blocks = agreement(study(scores), Scale(-9, 20))
    whole = [block for block in blocks if block.condition is None]
    flagged = [e.evaluator for e in whole[0].evaluators_detail if e.reasons]
    assert flagged == ["E6"]
    assert {block.degree_without for block in whole} == {"well"}
    said = without_flagged_finding(blocks)
    assert said.startswith("Without E6, who is flagged, W is ")
    for block in whole:
        if block.degree != "well":
            figures = f"{block.without_flagged.w:.2f} on {block.attribute} ({block.kendall.w:.2f}"
            assert figures in said
    assert said.endswith("Shown, not claimed: the same scores chose whom to leave out.")
    agreed = study(np.broadcast_to(6 + np.arange(4.0), (1, 6, 4))[..., None])
    assert without_flagged_finding(agreement(agreed, Scale())) == ""


def test_that_orders_which_cancel_exactly_are_not_taken_for_nothing_heard():
    steps = np.stack([np.arange(3.0), 2 - np.arange(3.0)], axis=1)
    scores = np.broadcast_to(5 + steps, (1, 6, 3, 2)) + np.arange(6)[:, None, None] / 2
    blocks = agreement(study(scores), Scale())
    assert blocks[0].kendall.w is None
    assert blocks[0].sentence.startswith(
        "Averaged over the conditions, nobody told the sets apart. The order"
    )
    assert headline(blocks) == (
        "The panel agrees in single conditions on a1 (W 1.00 in C1 and 1.00 in C2)."
    )


def test_that_nothing_heard_is_said_as_such():
    flat = np.full((1, 6, 4, 1), 6.0) + np.arange(6)[:, None, None] / 2
    assert headline(agreement(study(flat), Scale())) == "Nobody told the sets apart."
    both = np.concatenate([flat, flat + np.arange(4)[:, None]])
    assert headline(agreement(study(both), Scale(0, 20))) == (
        "The panel agrees on a2. Nobody told the sets apart on a1."
    )


def test_that_attributes_judged_one_by_one_are_claimed_as_if_together():
    scores = at_random(np.random.default_rng(5), conditions=2)
    scores = scores + np.arange(4)[:, None] * np.linspace(0, 0.7, 8)[:, None, None, None]
    table = study(scores)
    together = agreement(table, Scale())
    apart = [
        b for name in table["attribute"].unique() for b in agreement(table, Scale(), only=name)
    ]
    assert [b.agrees for b in apart] != [b.agrees for b in together]
    again = claimed_together(apart)
    for name in ("p_holm", "agrees", "agrees_in", "sentence", "chance_w"):
        assert [getattr(b, name) for b in again] == [getattr(b, name) for b in together]


def test_that_the_threshold_parts_what_is_claimed_from_what_is_not():
    rng = np.random.default_rng(6)
    for _ in range(40):
        # Permuted ranks have no ties, for which the threshold is exact.
        ranks = rng.permuted(np.tile(np.arange(1.0, 5), (6, 5, 1)), axis=2)
        ranks[:3] += np.arange(4) * 1.1
        for block in agreement(study(ranks[..., None]), Scale(0, 20)):
            assert block.agrees == (block.kendall.w >= block.chance_w - 1e-9)


def test_that_a_condition_is_no_difference_between_sets_that_never_met_in_it():
    # K and B were driven on the first road, A on the second alone, which is two points better.
    rng = np.random.default_rng(9)
    scores = np.round(2 * (6 + rng.normal(0, 0.5, (1, 8, 3, 2)))) / 2
    scores[..., 1] += 2
    table = study(scores)
    driven = (table["set"] != "S3") == (table["condition"] == "C1")
    whole, *single = agreement(table[driven], Scale())
    assert whole.kendall.w is whole.agrees is None
    assert whole.sentence == (
        "Sets were rated in different conditions that none of them links: see each condition."
    )
    assert {form.reason for form in whole.icc.forms} == {whole.sentence}
    assert single[0].kendall.w is not None
    # One set that was driven on both roads is enough to take the roads off.
    linked = driven | (table["set"] == "S1")
    assert agreement(table[linked], Scale())[0].kendall.w is not None
    # As is an evaluator's all on one road, whichever.
    apart = (table["evaluator"] < "E5") == (table["condition"] == "C1")
    assert agreement(table[apart], Scale())[0].kendall.w is not None
