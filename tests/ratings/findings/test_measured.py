"""Sets compared by their measurements: arithmetic, units, runs left out, claims."""

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from ratings.findings.measured import measured
from ratings.findings.measured_figures import COMPARED_WORDS, is_compared
from ratings.statistics.adjusted_p import holm

NOT_LEVEL_TRUE = "dB re full scale"
ROUGH, SMOOTH = "coarse asphalt, 80 km/h", "smooth asphalt, 80 km/h"
COLUMNS = ["set", "condition", "run", "channel", "figure", "unit", "value"]


def table(cells, condition=ROUGH, channel="ears", key="cavity_line_level", unit="dB"):
    """One figure: {set: values over runs}."""
    rows = [
        (code, condition, run, channel, key, unit, value)
        for code, values in cells.items()
        for run, value in enumerate(values, start=1)
    ]
    return pd.DataFrame(rows, columns=COLUMNS)


def only(found):
    assert len(found.findings) == 1
    return found.findings[0]


def test_that_mean_and_scatter_over_runs_are_those_of_numpy():
    values = [61.2, 62.0, 60.7]
    own = only(measured(table({"862": values}), "862")).of_set("862")
    assert own.mean == pytest.approx(np.mean(values), rel=1e-12)
    assert own.sd == pytest.approx(np.std(values, ddof=1), rel=1e-12)
    assert (own.runs, own.unit) == (3, "dB")


def test_that_two_sets_are_compared_as_by_students_t_test():
    # Two sets pooled are the classic t test: scipy.stats.ttest_ind(equal_var=True).
    one, control = [58.0, 58.9, 58.4], [61.2, 62.0, 60.7]
    each = only(measured(table({"417": one, "862": control}), "862")).difference_of("417")
    expected = stats.ttest_ind(one, control, equal_var=True)
    between = expected.confidence_interval(0.95)
    assert each.difference == pytest.approx(np.mean(one) - np.mean(control), rel=1e-12)
    assert (each.low, each.high) == pytest.approx((between.low, between.high), rel=1e-9)
    assert each.p == pytest.approx(expected.pvalue, rel=1e-9)


def test_that_scatter_is_pooled_over_all_sets_of_the_condition():
    # The residual mean square of one-way analysis of variance, here from scipy.stats.f_oneway:
    # F = between / within.
    cells = {"205": [60.0, 60.9], "417": [58.0, 58.9, 58.4], "862": [61.2, 62.0, 60.7]}
    finding = only(measured(table(cells), "862"))
    groups = [np.array(values) for values in cells.values()]
    grand = np.concatenate(groups).mean()
    between = sum(len(g) * (g.mean() - grand) ** 2 for g in groups) / 2
    within = between / stats.f_oneway(*groups).statistic
    assert finding.pooled_df == 5
    assert finding.pooled_sd**2 == pytest.approx(within, rel=1e-9)


def test_that_one_run_each_gives_a_difference_without_an_interval_and_says_why():
    each = only(measured(table({"417": [58.0], "862": [61.0]}), "862")).difference_of("417")
    assert each.difference == pytest.approx(-3.0)
    assert (each.low, each.high, each.p) == (None, None, None)
    assert each.reason == "one run each: the scatter of runs is not known"


def test_that_one_run_borrows_the_scatter_of_the_others_and_says_so():
    cells = {"417": [58.0], "862": [61.0, 61.4, 60.6]}
    each = only(measured(table(cells), "862")).difference_of("417")
    sd = np.std(cells["862"], ddof=1)
    half = stats.t.ppf(0.975, 2) * sd * np.sqrt(1 + 1 / 3)
    assert each.high - each.low == pytest.approx(2 * half, rel=1e-9)
    assert each.reason == "one run: its scatter is taken from the other sets"


def test_that_level_true_and_uncalibrated_sets_are_never_subtracted():
    both = pd.concat(
        [table({"862": [61.0, 61.4]}), table({"417": [-20.0, -20.4]}, unit=NOT_LEVEL_TRUE)]
    )
    finding = only(measured(both, "862"))
    each = finding.difference_of("417")
    assert (each.difference, each.low, each.high) == (None, None, None)
    assert each.reason == "it is not calibrated, the other one is"
    assert finding.unit == "dB"
    assert finding.of_set("417").unit == NOT_LEVEL_TRUE


def test_that_uncalibrated_runs_of_a_calibrated_set_are_left_out_and_counted():
    mixed = pd.concat(
        [
            table({"417": [58.0, 58.4], "862": [61.0, 61.4]}),
            pd.DataFrame(
                [("417", ROUGH, 3, "ears", "cavity_line_level", NOT_LEVEL_TRUE, -21.0)],
                columns=COLUMNS,
            ),
        ]
    )
    own = only(measured(mixed, "862")).of_set("417")
    assert own.by_run == (58.0, 58.4)
    assert own.uncalibrated_runs == 1


def test_that_two_uncalibrated_sets_are_compared_with_a_reservation():
    cells = {"417": [-23.0, -23.4], "862": [-20.0, -20.2]}
    each = only(measured(table(cells, unit=NOT_LEVEL_TRUE), "862")).difference_of("417")
    assert each.difference == pytest.approx(-3.1)
    assert each.reason == "not calibrated: it holds if the recorder's gain was the same"


def test_that_void_runs_are_left_out_and_named():
    cells = {"417": [58.0, 90.0, 58.4], "862": [61.0, 61.4]}
    found = measured(table(cells), "862", void={("417", ROUGH, 2), ("999", ROUGH, 1)})
    assert only(found).of_set("417").by_run == (58.0, 58.4)
    assert found.void == (("417", ROUGH, 2),)


def test_that_undefined_values_and_silence_leave_no_figure():
    cells = {"417": [None, float("-inf")], "862": [61.0, float("nan")]}
    finding = only(measured(table(cells), "862"))
    assert finding.of_set("417").mean is None
    assert finding.of_set("862").by_run == (61.0,)
    assert finding.difference_of("417").reason == "line not found"


def test_that_a_control_without_runs_is_told():
    found = measured(table({"417": [58.0, 58.4]}), "862")
    assert found.sets == ("862", "417")
    assert only(found).difference_of("417").reason == "no run of the control measured"


def test_that_runs_without_any_scatter_give_no_interval_and_no_warning():
    finding = only(measured(table({"417": [58.0, 58.0], "862": [60.0, 60.0]}), "862"))
    each = finding.difference_of("417")
    assert (each.difference, each.low, each.p) == (-2.0, None, None)
    assert each.reason == "the runs do not differ at all: their scatter is not known"


def test_that_a_difference_that_reads_zero_is_not_claimed():
    tiny = {"417": [60.03, 60.031, 60.03], "862": [60.0, 60.001, 60.0]}
    found = measured(table(tiny), "862")
    assert only(found).difference_of("417").p_holm < 1e-3
    assert found.clear("ears") == ()


def test_that_claims_are_adjusted_for_sets_and_compared_figures_of_a_condition():
    rng = np.random.default_rng(5)
    parts = [
        table(
            {code: 60 + rng.standard_normal(3) for code in ("205", "417", "862")},
            key=key,
        )
        for key in ("band_boom", "band_cavity", "band_boom_a", "third_octave_25")
    ]
    found = measured(pd.concat(parts), "862")
    family = [f for f in found.findings if is_compared(f.key)]
    assert [f.key for f in family] == ["band_boom", "band_cavity"]
    expected = holm([each.p for f in family for each in f.differences])
    assert [each.p_holm for f in family for each in f.differences] == pytest.approx(expected)
    others = [f for f in found.findings if not is_compared(f.key)]
    assert {each.p_holm for f in others for each in f.differences} == {None}


@pytest.mark.slow
def test_that_among_sets_that_do_not_differ_claims_are_as_rare_as_promised():
    # 200 studies of four sets, three runs, six bands, nothing but scatter: with 5 % for the whole
    # family about 10 make any claim; binomial 99.9 % limit 22. Unadjusted, nearly half would.
    rng = np.random.default_rng(11)
    keys = ["band_a0", "band_b0", "band_c0", "band_d0", "band_e0", "cavity_line_level"]
    claimed = alone = 0
    for _ in range(200):
        rows = [
            (code, ROUGH, run, "ears", key, "dB", value)
            for code in ("1", "2", "3", "4")
            for key in keys
            for run, value in enumerate(60 + rng.standard_normal(3), start=1)
        ]
        found = measured(pd.DataFrame(rows, columns=COLUMNS), "1")
        claimed += bool(found.clear("ears"))
        alone += any(each.p <= 0.05 for f in found.findings for each in f.differences)
    assert claimed <= 22
    assert alone > 60


def test_that_a_clear_difference_is_found_and_the_largest_to_ears_comes_first():
    parts = [
        table({"417": [58.0, 58.1, 57.9], "862": [61.0, 61.1, 60.9]}),
        table({"417": [40.0, 40.1, 39.9], "862": [45.0, 45.1, 44.9]}, condition=SMOOTH),
        table(
            {"417": [9.0, 9.01, 9.02], "862": [29.0, 29.01, 29.02]}, key="loudness_n", unit="sone"
        ),
    ]
    clear = measured(pd.concat(parts), "862").clear("ears")
    assert [(f.condition, f.key, code) for f, code in clear] == [
        # From 29 to 9 sone is as much as 17 dB make.
        (ROUGH, "loudness_n", "417"),
        (SMOOTH, "cavity_line_level", "417"),
        (ROUGH, "cavity_line_level", "417"),
    ]


def test_that_sets_channels_and_conditions_stand_in_a_fixed_order():
    parts = [
        table({"1000": [1.0], "205": [1.0], "862": [1.0]}, channel=channel, condition=condition)
        for channel in ("10", "2", "ears")
        for condition in (SMOOTH, ROUGH)
    ]
    found = measured(pd.concat(parts), "862", conditions=(ROUGH, SMOOTH, "never driven"))
    assert found.sets == ("862", "205", "1000")
    assert found.channels == ("ears", "2", "10")
    assert found.conditions == (ROUGH, SMOOTH)
    assert [f.key for f in found.block(ROUGH, "2")] == ["cavity_line_level"]


def test_that_an_empty_table_has_no_findings():
    found = measured(pd.DataFrame([], columns=COLUMNS), "862")
    assert found.findings == ()
    assert found.conditions == ()
    assert found.clear("ears") == ()


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("band_boom", "unweighted bands"),
        ("cavity_line_level", "cavity line level"),
        ("leq_a", "A-weighted level"),
        ("loudness_n5", "loudness N and N5"),
        ("sharpness", "sharpness"),
        ("roughness", "roughness"),
        ("band_boom_a", "A-weighted bands"),
        ("pattern_order_1", "pattern"),
        ("loudness_n10", "N10"),
    ],
)
def test_that_the_words_name_what_is_compared_and_nothing_else(key, words):
    assert (words in COMPARED_WORDS) == is_compared(key)
