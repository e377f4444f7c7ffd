"""What choices say, in figures and in sentences."""

import numpy as np
import pandas as pd
import pytest
from statsmodels.stats.multitest import multipletests

from ratings.findings.preference import preferences
from ratings.findings.preference_words import headline


def choices(*rows, **columns):
    """Rows such as "E1 A B first"."""
    table = pd.DataFrame(
        [row.split(" ") for row in rows], columns=["evaluator", "first", "second", "choice"]
    )
    return table.assign(**columns)


def many(first, second, chosen, times, start=0):
    return [f"E{number + start} {first} {second} {chosen}" for number in range(times)]


def clear_panel():
    rows = many("A", "B", "first", 18) + many("A", "B", "second", 2, 18)
    rows += many("A", "C", "first", 19) + many("A", "C", "second", 1, 19)
    rows += many("B", "C", "first", 15) + many("B", "C", "second", 5, 15)
    return choices(*rows)


def test_that_a_clear_preference_is_said_with_its_lead():
    (block,) = preferences(clear_panel())
    assert block.sentence == (
        "A is preferred most and C least (p below 0.0001); "
        "of 100 decisions between it and B, 89 would fall on it (95 % interval 68 to 98)."
    )
    assert block.chosen.tolist() == [37, 17, 6]
    assert block.compared.tolist() == [40, 40, 40]
    assert block.attribute is None


def test_that_chance_is_not_called_a_preference():
    rows = many("A", "B", "first", 3) + many("A", "B", "second", 3, 3)
    (block,) = preferences(choices(*rows))
    assert block.sentence == "No set is preferred over all choices taken together (p 1)."


def test_that_a_set_never_passed_over_is_told_by_name():
    rows = many("A", "B", "first", 6) + many("A", "C", "first", 6)
    rows += many("B", "C", "first", 3) + many("B", "C", "second", 3, 3)
    (block,) = preferences(choices(*rows))
    assert block.worths.log_worth is None
    # All six agree: 2 of 64 exchanges are as large.
    assert block.panel_p == 2 / 64
    assert block.sentence == (
        "A was never passed over for any other set (p 0.031); of 100 decisions between A and B, "
        "about 96 would fall on A (penalised estimate; "
        "at least 60 with 95 % confidence)."
    )
    assert block.notes[1] == (
        "The log worths are penalised (Firth): without the penalty they would be endless."
    )


def test_that_one_order_in_all_decisions_is_told_whole():
    rows = many("A", "B", "first", 8) + many("C", "A", "second", 8) + many("B", "C", "first", 8)
    (block,) = preferences(choices(*rows))
    assert block.worths.above == (0,)
    assert block.sentence == (
        "A, then B, then C, without exception (p 0.0078); "
        "of 100 decisions between A and B, about 94 would fall on A (penalised estimate; "
        "at least 68 with 95 % confidence)."
    )


def test_that_one_order_is_not_told_where_a_step_of_it_may_be_chance():
    rows = many("A", "B", "first", 8) + many("A", "C", "first", 8) + many("B", "C", "first", 2)
    (block,) = preferences(choices(*rows))
    assert block.worths.in_order == (0, 1, 2)
    assert block.sentence.startswith("A was never passed over for any other set (p 0.0078); ")


def test_that_answers_without_a_decision_are_not_said_to_fall_on_a_place():
    rows = many("A", "B", "none", 4) + many("B", "A", "none", 4, 4)
    (block,) = preferences(choices(*rows))
    assert block.sentence == 'Every answer was "no difference".'
    assert block.notes == ()


def test_that_eighteen_of_eighteen_by_six_evaluators_say_something():
    rows = [f"E{evaluator} A B first" for evaluator in range(6) for _ in range(3)]
    (block,) = preferences(choices(*rows))
    assert block.sentence == (
        "A was never passed over for any other set (p 0.031); of 100 decisions between A and B, "
        "about 97 would fall on A (penalised estimate; "
        "at least 60 with 95 % confidence)."
    )
    assert block.worths.equal_worth.chi_square == pytest.approx(36 * np.log(2))


def test_that_a_lead_by_way_of_a_third_set_alone_may_be_chance():
    rows = many("A", "B", "first", 8) + many("B", "C", "first", 4) + many("C", "B", "first", 4, 4)
    (block,) = preferences(choices(*rows))
    assert block.sentence.endswith(
        "about 94 would fall on A (penalised estimate; at least 68 with 95 % confidence)."
    )
    few = many("A", "B", "first", 3) + many("A", "C", "first", 8) + many("B", "C", "second", 1)
    (block,) = preferences(choices(*few, "E9 C B second"))
    assert block.worths.edge == (0, 1)
    assert block.sentence == (
        "A was never passed over for any other set (p 0.0078); the lead over B may be chance."
    )


def test_that_the_claim_about_two_sets_is_the_lead():
    # Nine of ten evaluators: the exact p is 0.021, and Wald's interval would have doubted it.
    rows = many("A", "B", "first", 9) + many("A", "B", "second", 1, 9)
    (block,) = preferences(choices(*rows))
    assert block.sentence == (
        "A is preferred most (p 0.021); of 100 decisions between it and B, 90 would fall on it "
        "(95 % interval 55 to 100)."
    )


def test_that_a_preference_of_two_sets_and_its_interval_do_not_contradict():
    # Eight of nine: exact p 0.039, exact interval from 51.8.
    rows = many("A", "B", "first", 8) + many("A", "B", "second", 1, 8)
    (block,) = preferences(choices(*rows))
    assert "(p 0.039); of 100 decisions" in block.sentence
    assert "(95 % interval 52 to 100)" in block.sentence


def test_that_five_evaluators_who_agree_are_too_few_for_a_claim():
    (block,) = preferences(choices(*many("A", "B", "first", 5)))
    assert block.sentence == (
        "No set is preferred over all choices taken together (p 0.062); "
        "5 evaluators are too few for a claim."
    )


def circling(evaluators):
    steps = (("A", "B", "first"), ("B", "C", "first"), ("A", "C", "second"))
    return [row for step in steps for row in many(*step, evaluators)]


def test_that_a_circle_of_all_evaluators_is_not_called_chance():
    (block,) = preferences(choices(*circling(8)))
    assert block.agreement.u == 1
    assert block.sentence == (
        "No set is preferred over all choices taken together (p 1). "
        "The panel chooses in a circle (p 0.0078): A over B, B over C, C over A."
    )
    assert headline((block,)) == (
        "No set is shown to be preferred; the panel chooses in a circle on these choices."
    )


def test_that_a_circle_with_a_step_that_may_be_chance_is_not_claimed():
    rows = circling(8)[:16] + many("A", "C", "second", 5) + many("A", "C", "first", 3, 5)
    (block,) = preferences(choices(*rows))
    assert block.judged.circle.sets == (0, 1, 2)
    assert "circle" not in block.sentence


def by_condition(**chosen):
    """Ten evaluators choose between A and B, so many of them A in each condition."""
    return pd.concat(
        choices(
            *many("A", "B", "first", a), *many("A", "B", "second", 10 - a, a), condition=condition
        )
        for condition, a in chosen.items()
    )


def test_that_a_preference_turned_round_by_the_condition_is_said_by_condition():
    (block,) = preferences(by_condition(dry=10, wet=0))
    assert block.sentence == (
        "No set is preferred over all choices taken together (p 1). "
        "The preference depends on the condition (p 0.002): A in dry, B in wet."
    )
    assert headline((block,)) == "Preferred: A in dry; B in wet."


def test_that_a_preference_in_one_condition_alone_names_the_other_too():
    table = by_condition(dry=10, wet=10)
    table.loc[table["condition"] == "wet", "choice"] = ["first", "second"] * 5
    (block,) = preferences(table)
    assert block.judged.conditions.p == 2 / 32
    table.loc[table["condition"] == "wet", "choice"] = ["none"] * 10
    (block,) = preferences(table)
    assert block.sentence.endswith(
        "The preference depends on the condition (p 0.002): A in dry, no set in wet."
    )


def test_that_the_same_preference_in_all_conditions_does_not_depend_on_them():
    (block,) = preferences(by_condition(dry=10, wet=9))
    assert not block.judged.conditions.is_claimed
    assert [each.best for each in block.judged.conditions.within] == [0, 0]


def test_that_pairs_judged_in_one_condition_only_do_not_make_it_differ():
    dry = choices(*many("A", "B", "first", 10), condition="dry")
    wet = choices(*many("C", "A", "first", 10), condition="wet")
    assert preferences(pd.concat([dry, wet]))[0].judged.conditions.p is None


def test_that_conditions_are_judged_in_the_light_of_all_attributes():
    turned = by_condition(dry=6, wet=0)
    tables = [turned.assign(attribute=name) for name in ("boom", "hiss", "hum")]
    assert preferences(turned)[0].judged.conditions.is_claimed
    together = preferences(pd.concat(tables))
    assert not any(block.judged.conditions.is_claimed for block in together)
    assert together[0].judged.conditions.p == pytest.approx(3 * 2 / 2**6)


def test_that_least_is_said_only_of_a_set_clearly_behind_the_next():
    rows = []
    for other in "BCD":
        rows += many("A", other, "first", 18) + many("A", other, "second", 2, 18)
    for one, other in ("BC", "BD", "CD"):
        rows += many(one, other, "first", 10) + many(one, other, "second", 10, 10)
    (block,) = preferences(choices(*rows))
    assert block.sentence.startswith("A is preferred most (p 0.0006); of 100 decisions ")


def test_that_many_answers_without_a_decision_are_told_in_the_sentence():
    (block,) = preferences(choices(*many("A", "B", "first", 6), *many("A", "B", "none", 14, 6)))
    assert block.sentence.endswith('14 of 20 answers were "no difference", which is no decision.')
    (block,) = preferences(choices(*many("A", "B", "first", 12), *many("A", "B", "none", 3, 12)))
    assert "no difference" not in block.sentence


def test_that_the_headline_names_what_is_preferred_on_every_attribute():
    boom = choices(*many("A", "B", "first", 10), attribute="boom")
    hiss = choices(*many("A", "B", "first", 10), attribute="hiss")
    even = choices(*many("A", "B", "first", 5), *many("A", "B", "second", 5, 5), attribute="hum")
    assert headline(preferences(pd.concat([boom, hiss, even]))) == "Preferred: A on boom and hiss."
    assert headline(preferences(even)) == "No set is shown to be preferred."


@pytest.mark.slow
def test_that_all_claims_together_are_false_in_about_one_null_study_of_twenty():
    # Own tastes in general and in each condition, and no set better in itself.
    rng = np.random.default_rng(5)
    claimed = 0
    for _ in range(500):
        rows = []
        taste = rng.normal(0, 1, (8, 1, 2)) + rng.normal(0, 1, (8, 2, 2))
        chance = 1 / (1 + np.exp(taste[..., 1] - taste[..., 0]))
        won = rng.random((2, 8, 2)) < chance
        for repeat, evaluator, condition in np.ndindex(won.shape):
            word = "first" if won[repeat, evaluator, condition] else "second"
            rows.append((f"E{evaluator}", "A", "B", word, "dw"[condition], str(repeat)))
        columns = ["evaluator", "first", "second", "choice", "condition", "repeat"]
        (block,) = preferences(pd.DataFrame(rows, columns=columns))
        judged = block.judged
        claimed += judged.is_claimed or judged.conditions.is_claimed or judged.is_circular
    # Binomial scatter of 500: 1 %.
    assert claimed / 500 <= 0.08


def test_that_one_evaluator_is_no_panel_however_often_he_chooses():
    (block,) = preferences(choices(*["E1 A B first"] * 40, "E1 A B second"))
    assert block.sentence == "One evaluator alone cannot stand for a panel."


def test_that_own_tastes_of_evaluators_are_no_preference_of_the_panel():
    # Each prefers a set of his own, and repeats it; no set is better in itself.
    claimed = alone = 0
    for seed in range(60):
        rng = np.random.default_rng(seed)
        rows = []
        for evaluator in range(8):
            taste = rng.normal(0, 1.5, 3)
            for one, other in ((0, 1), (0, 2), (1, 2)):
                chance = 1 / (1 + np.exp(taste[other] - taste[one]))
                for wins in rng.random(8) < chance:
                    word = "first" if wins else "second"
                    rows.append(f"E{evaluator} {'ABC'[one]} {'ABC'[other]} {word}")
        (block,) = preferences(choices(*rows))
        claimed += not block.sentence.startswith("No set is preferred")
        test = block.worths.equal_worth
        alone += test is not None and test.p is not None and test.p <= 0.05
    # Taken as independent, most of these panels would have preferred something.
    assert alone > 30
    assert claimed <= 7


def test_that_a_preference_is_claimed_in_the_light_of_all_attributes():
    # Nine of ten chose A: 22 of 1,024 exchanges are as large, too many among three attributes.
    rows = many("A", "B", "first", 9) + many("A", "B", "second", 1, 9)
    own = choices(*rows, attribute="boom")
    even = many("A", "B", "first", 5) + many("A", "B", "second", 5, 5)
    others = [choices(*even, attribute=name) for name in ("hiss", "rumble")]
    (alone,) = preferences(own)
    assert alone.sentence.startswith("A is preferred most (p 0.021)")
    boom, *rest = preferences(pd.concat([own, *others]))
    adjusted = multipletests([block.panel_p for block in (boom, *rest)], method="holm")[1]
    assert [block.p_holm for block in (boom, *rest)] == pytest.approx(adjusted)
    assert boom.sentence == (
        "No set is preferred over all choices taken together (p 0.064 among 3 attributes)."
    )


def test_that_six_alike_are_too_few_among_several_attributes():
    own = choices(*many("A", "B", "first", 6), attribute="boom")
    even = many("A", "B", "first", 3) + many("A", "B", "second", 3, 3)
    boom, _ = preferences(pd.concat([own, choices(*even, attribute="hiss")]))
    assert boom.sentence.endswith(
        "(p 0.062 among 2 attributes); 6 evaluators are too few for a claim."
    )


def test_that_the_order_effect_is_fitted_where_pairs_came_in_both_orders():
    rows = many("A", "B", "first", 6) + many("A", "B", "second", 3, 6)
    rows += many("B", "A", "first", 5) + many("B", "A", "second", 4, 5)
    (block,) = preferences(choices(*rows))
    assert block.worths.order_effect > 0
    (one_order,) = preferences(choices(*rows[:9]))
    assert one_order.worths.order_effect is None
    assert "one order only" in one_order.notes[0]


def test_that_a_table_naming_the_winner_first_has_no_order_effect():
    rows = many("A", "B", "first", 6) + many("B", "A", "first", 3, 6)
    (block,) = preferences(choices(*rows))
    assert block.worths.order_effect is None
    assert "named first" in block.notes[0]
    assert block.worths.log_worth[1] == pytest.approx(-0.693147, abs=1e-5)


def test_that_null_pairs_and_empty_choices_are_left_out_and_told():
    rows = ["E1 A B first", "E2 A B second", "E1 B B none", "E2 A A first", "E3 A B "]
    (block,) = preferences(choices(*rows))
    assert (block.choices, block.missing) == (2, 1)
    assert (block.null_pairs, block.null_pairs_told_apart) == (2, 1)
    assert "Empty choices passed over: 1." in block.notes
    assert any(note.startswith("Null pairs left out: 2; in 1 of them") for note in block.notes)


def test_that_every_attribute_has_its_block_in_the_order_of_the_table():
    table = pd.concat([clear_panel().assign(attribute="hiss"), clear_panel().assign(attribute="a")])
    assert [block.attribute for block in preferences(table)] == ["hiss", "a"]


def test_that_conditions_taken_together_are_told():
    table = pd.concat([clear_panel().assign(condition=name) for name in ("coarse", "smooth")])
    assert "2 conditions are taken together." in preferences(table)[0].notes


def test_that_evaluators_come_by_number_and_sets_by_alphabet():
    (block,) = preferences(choices("E10 100g 90g first", "E2 90g 100g first"))
    assert block.evaluators == ("E2", "E10")
    assert block.sets == ("100g", "90g")


def test_that_choices_that_are_no_scale_are_told():
    rows = []
    for first, second in ("AB", "BC", "CA"):
        rows += many(first, second, "first", 18) + many(first, second, "second", 2, 18)
    (block,) = preferences(choices(*rows))
    assert any("One scale does not describe" in note for note in block.notes)
    assert block.transitivity.weak == 1


def test_that_an_evaluators_circle_is_found():
    rows = ["E1 A B first", "E1 B C first", "E1 A C second", "E2 A B first", "E2 B C first"]
    circle, incomplete = preferences(choices(*rows, "E2 A C none"))[0].evaluators_detail
    assert (circle.consistency.circular_triads, circle.consistency.zeta) == (1, 0)
    assert incomplete.consistency.zeta is None


def test_that_the_error_over_evaluators_is_the_cluster_sandwich_of_statsmodels():
    import statsmodels.api as sm

    rng = np.random.default_rng(8)
    pairs = [(0, 1), (0, 2), (1, 2)]
    rows, design, won, group = [], [], [], []
    for evaluator in range(10):
        taste = rng.normal((0.8, 0.0, -0.5), 1.0)
        for one, other in pairs * 3:
            first = bool(rng.random() < 1 / (1 + np.exp(taste[other] - taste[one])))
            rows.append(
                f"E{evaluator} {'ABC'[one]} {'ABC'[other]} {'first' if first else 'second'}"
            )
            worth = np.eye(3)[one] - np.eye(3)[other]
            design.append(worth[1:])
            won.append(first)
            group.append(evaluator)
    (block,) = preferences(choices(*rows))
    model = sm.Logit(np.array(won, float), np.array(design))
    clusters = {"groups": np.array(group), "use_correction": False}
    theirs = model.fit(disp=0, cov_type="cluster", cov_kwds=clusters)
    assert block.worths.log_worth[1:] == pytest.approx(theirs.params, abs=1e-6)
    expected = theirs.cov_params() * 10 / 9
    assert block.worths.panel_covariance[1:, 1:] == pytest.approx(expected, rel=1e-5)
