"""What is said about measurements."""

import math

import pandas as pd
import pytest

from ratings.findings.measured import measured
from ratings.findings.measured_words import (
    NOTHING_STANDS_OUT,
    OF_THESE_FITTINGS,
    audible_words,
    claim,
    condition_sentence,
    difference_words,
    further_words,
    headline,
    missing_words,
    only_here_words,
    void_words,
    where_words,
)

ROUGH = "coarse asphalt, 80 km/h"
COLUMNS = ["set", "condition", "run", "channel", "figure", "unit", "value"]


def found_of(figures, control="862", void=(), without_turns=()):
    """{(key, unit): {set: values over runs}} on one condition and the ears."""
    rows = [
        (code, ROUGH, run, "ears", key, unit, value)
        for (key, unit), cells in figures.items()
        for code, values in cells.items()
        for run, value in enumerate(values, start=1)
    ]
    return measured(
        pd.DataFrame(rows, columns=COLUMNS), control, void=void, without_turns=without_turns
    )


LINE = ("cavity_line_level", "dB")


def test_that_the_headline_says_set_size_place_condition_interval_and_runs():
    found = found_of({LINE: {"417": [57.6, 57.9, 57.3], "862": [61.0, 61.3, 60.7]}})
    # Difference 3.4, pooled SD 0.3: 2.776 (t, 4 df) x 0.3 x sqrt(2/3) = 0.68.
    assert headline(found, "ears") == (
        "Set 417 is 3.4 dB quieter than the control in the cavity line on "
        "coarse asphalt, 80 km/h (unweighted; 95 %: 2.7 to 4.1; 3 runs each)."
    )


def test_that_scatter_alone_makes_no_headline():
    found = found_of({LINE: {"417": [60.0, 62.0, 61.5], "862": [61.0, 59.8, 62.3]}})
    assert headline(found, "ears") == NOTHING_STANDS_OUT
    assert condition_sentence(found.block(ROUGH, "ears")) == NOTHING_STANDS_OUT


def test_that_one_run_each_makes_no_claim():
    found = found_of({LINE: {"417": [50.0], "862": [61.0]}})
    assert headline(found, "ears") == (
        "One run of each set: differences cannot be told from run-to-run scatter."
    )
    assert claim(found.findings[0], "417") == (
        "Set 417 is 11.0 dB quieter than the control in the cavity line on "
        "coarse asphalt, 80 km/h (unweighted; 1 run each; one run each: the scatter of runs "
        "is not known)."
    )


def test_that_a_study_without_measurements_says_so():
    assert headline(found_of({}), "ears") == "No run has been measured yet."
    assert condition_sentence(()) == "Nothing has been measured here yet."


def test_that_a_study_whose_control_was_not_measured_says_so():
    found = found_of({LINE: {"417": [60.0, 62.0]}})
    assert headline(found, "ears") == "No set can be compared with the control 862 yet."


def test_that_an_interval_across_zero_is_told_the_way_round_of_its_difference():
    found = found_of({LINE: {"417": [60.0, 61.0], "862": [61.0, 62.0]}})
    each = found.findings[0].difference_of("417")
    assert each.low < -1 < 0 < each.high
    low, high = f"{-each.high:.1f}".replace("-", "−"), f"{-each.low:.1f}"
    assert f"95 %: {low} to {high}; 2 runs each" in claim(found.findings[0], "417")


def test_that_the_condition_is_told_set_by_set():
    found = found_of(
        {
            LINE: {"417": [57.0, 57.1], "205": [61.0, 61.1], "862": [61.0, 61.1]},
            ("band_structure_borne", "dB"): {
                "417": [69.0, 69.1],
                "205": [71.0, 71.1],
                "862": [71.0, 71.1],
            },
        }
    )
    assert condition_sentence(found.block(ROUGH, "ears")) == (
        "Against the control: 417 is 4.0 dB quieter in the cavity line and 2.0 dB quieter in the "
        "structure-borne band; 205 does not differ by more than run-to-run scatter in any compared "
        "figure."
    )
    assert further_words(found, "ears") == f"1 more difference is clear. {OF_THESE_FITTINGS}"


def test_that_unlike_numbers_of_runs_are_told():
    found = found_of({LINE: {"417": [57.0, 57.1], "862": [61.0, 61.1, 61.2]}})
    assert "; 2 runs against 3)" in claim(found.findings[0], "417")


def test_that_a_run_that_does_not_count_is_named_with_its_reason():
    cells = {"417": [57.0, 57.1, 57.2], "862": [61.0, 61.1, 61.2], "205": [60.0, 60.1, 60.2]}
    void = found_of({LINE: cells}, void={("417", ROUGH, 2)})
    said = "2 runs against 3, not counted: run 2 of 417: void)"
    assert said in headline(void, "ears")
    undefined = found_of({LINE: {**cells, "862": [float("nan"), 61.1, 61.2]}})
    # The runs in which a line stands out are its louder ones: nothing is claimed from them.
    said = "3 runs against 2, not counted: run 1 of 862: line not found; "
    assert said in claim(undefined.findings[0], "417")
    assert "the line is not found in every run: shown, not claimed" in claim(
        undefined.findings[0], "417"
    )
    assert headline(undefined, "ears") == NOTHING_STANDS_OUT
    uncalibrated = pd.DataFrame(
        [
            (code, ROUGH, run, "ears", *LINE, value)
            for code, values in cells.items()
            for run, value in enumerate(values, start=1)
        ],
        columns=COLUMNS,
    )
    uncalibrated.loc[0, "unit"] = "dB re full scale"
    found = measured(uncalibrated, "862")
    assert "not counted: run 1 of 417: not calibrated)" in headline(found, "ears")


def test_that_missing_and_void_runs_are_named():
    found = found_of(
        {LINE: {"417": [57.0, 57.1], "205": [60.0], "862": [61.0, 61.1]}},
        void={("205", ROUGH, 1)},
    )
    assert missing_words(found, ROUGH, "ears") == "No measured run of 205."
    assert void_words(found.void) == (
        "1 run marked void is left out: 205 on coarse asphalt, 80 km/h, run 1."
    )
    assert void_words(()) == ""


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("cavity_line_level", "in the cavity line"),
        ("band_boom", "in the boom band"),
        ("band_structure_borne", "in the structure-borne band"),
        ("leq_a", "overall"),
        ("loudness_n", "in loudness N (diffuse field)"),
        ("roughness", ""),
        ("third_octave_31.5", "in the third octave at 31.5 Hz"),
        ("pattern_order_2", "in pattern order 2"),
    ],
)
def test_that_a_place_has_words(key, words):
    assert where_words(key) == words


@pytest.mark.parametrize(
    ("difference", "unit", "words"),
    [
        (-3.42, "dB", "3.4 dB quieter than the control"),
        (0.26, "dB(A)", "0.3 dB(A) louder than the control"),
        (-0.02, "dB", "as the control"),
        (-1.25, "sone", "1.2 sone less loud than the control"),
        (0.081, "acum", "0.08 acum sharper than the control"),
        (-0.3, "asper", "0.30 asper less rough than the control"),
        (4.0, "Hz", "4.0 Hz higher than the control"),
        (-2.0, "dB re full scale", "2.0 dB quieter than the control"),
    ],
)
def test_that_a_difference_has_words_in_its_unit(difference, unit, words):
    assert difference_words(difference, unit) == words


@pytest.mark.parametrize(
    ("difference", "begins"),
    [
        (-0.9, "less than ears notice"),
        (1.0, "noticed side by side"),
        (-2.9, "noticed side by side"),
        (3.0, "noticed without a direct comparison"),
    ],
)
def test_that_a_change_of_level_has_words_marked_as_common_practice(difference, begins):
    words = audible_words(difference)
    assert words.startswith(begins)
    assert "common practice" in words


def test_that_a_run_without_the_figure_is_named():
    rows = [
        (code, ROUGH, run, "ears", key, unit, value + run / 10)
        for key, unit, value in (("leq_a", "dB(A)", 70.0), ("loudness_n", "sone", 20.0))
        for code in ("417", "862")
        for run in (1, 2, 3)
        if (key, code, run) != ("loudness_n", "417", 2)
    ]
    found = measured(pd.DataFrame(rows, columns=COLUMNS), "862")
    loudness = next(each for each in found.findings if each.key == "loudness_n")
    assert "; 2 runs against 3, not counted: run 2 of 417: no value)" in claim(loudness, "417")


def test_that_two_kinds_of_loudness_are_told_apart():
    values = {"417": [30.0, 30.1, 29.9], "862": [20.0, 20.1, 19.9]}
    found = found_of({("loudness_n", "sone"): values, ("loudness_n5", "sone"): values})
    told = condition_sentence(found.block(ROUGH, "ears"))
    assert "louder in loudness N (diffuse field) and 10.0 sone louder in loudness N5 (diff" in told


NAN = math.nan
LEVEL = {("leq_a", "dB(A)"): {"862": [70, 70.2, 70.4], "229": [70, 70.2, 70.4]}}


def told_only_here(figures, **options):
    return only_here_words(found_of(LEVEL | figures, **options).block(ROUGH, "ears"))


def test_that_orders_of_a_set_and_of_no_run_of_the_control_have_a_sentence_of_their_own():
    orders = {
        ("pattern_order_1", "dB"): {"229": [73.4, 73.0, 72.8]},
        ("pattern_order_2", "dB"): {"229": [66.0, NAN, 66.0]},
        ("pattern_order_1_slip", "%"): {"229": [0.1, 0.1, 0.1]},
    }
    assert told_only_here(orders) == (
        "229: pattern orders 1 (73 dB) and 2 (66 dB, 2 of 3 runs) stand out, not in the control."
    )
    found = found_of(LEVEL | orders)
    assert condition_sentence(found.block(ROUGH, "ears")) == NOTHING_STANDS_OUT
    assert "in any compared figure" in NOTHING_STANDS_OUT


def test_that_a_cavity_line_of_a_set_alone_has_a_sentence_of_its_own():
    assert told_only_here({LINE: {"229": [63.0, 63.2, 63.4]}}) == (
        "229: a cavity line (63 dB), none found in the control."
    )


@pytest.mark.parametrize(
    "cells",
    [
        {"229": [73.0, NAN, NAN]},  # in one run of three it may be chance
        {"229": [73.0, 73.0, 73.0], "862": [NAN, NAN, 70.0]},
        {"862": [73.0, 73.0, 73.0]},
    ],
)
def test_that_nothing_is_said_of_an_order_in_few_runs_or_in_the_control_too(cells):
    assert told_only_here({("pattern_order_1", "dB"): cells}) == ""


def test_that_an_order_that_was_not_looked_for_in_the_control_is_not_said_to_be_missing():
    order = {("pattern_order_1", "dB"): {"229": [73.0, 73.0, 73.0]}}
    unknown = [("862", ROUGH, run) for run in (1, 2, 3)]
    assert told_only_here(order, without_turns=unknown) == ""
    finding = found_of(LEVEL | order, without_turns=unknown).findings[-1]
    assert finding.difference_of("229").reason == "in the control: speed or tread not known"
    # One run in which it was looked for is enough, and only such runs are counted.
    runs = [("862", ROUGH, 1), ("229", ROUGH, 1)]
    order = {("pattern_order_1", "dB"): {"229": [NAN, 73.0, 73.0]}}
    said = "229: pattern order 1 (73 dB) stands out, not in the control."
    assert told_only_here(order, without_turns=runs) == said
