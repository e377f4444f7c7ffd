"""What is said about measurements."""

import math
import re

import numpy as np
import pandas as pd
import pytest

from ratings.findings.measured import measured
from ratings.findings.measured_words import (
    NOTHING_STANDS_OUT,
    OF_THESE_FITTINGS,
    claim,
    condition_sentence,
    difference_words,
    further_words,
    headline,
    heard_words,
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
        ("band_hiss", "in the hiss band"),
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


# --- what ears notice ---------------------------------------------------------------------------

BOOM, SHARP = ("band_boom", "dB"), ("sharpness", "acum")


def around(value, scatter=0.01):
    return [value - scatter, value, value + scatter]


def test_that_what_ears_notice_most_leads_and_not_the_largest_number():
    # 5 sone of 40 are 1.7 times what ears notice, 3.4 dB are 3.4 times.
    found = found_of(
        {
            ("loudness_n", "sone"): {"417": around(45.0), "862": around(40.0)},
            LINE: {"417": around(57.6), "862": around(61.0)},
            SHARP: {"417": around(1.50, 0.001), "862": around(1.10, 0.001)},
        }
    )
    # 0.40 acum are five times.
    assert headline(found, "ears").startswith("Set 417 is 0.40 acum sharper than the control")
    told = condition_sentence(found.block(ROUGH, "ears"))
    assert [told.index(words) for words in ("acum", "dB", "sone")] == sorted(
        told.index(words) for words in ("acum", "dB", "sone")
    )


def test_that_a_clear_difference_that_nobody_hears_is_counted_and_not_named():
    found = found_of(
        {
            SHARP: {
                "287": around(1.24, 0.001),
                "205": around(1.2, 0.001),
                "862": around(1.2, 0.001),
            },
            BOOM: {"287": around(70.0), "205": around(70.4), "862": around(70.0)},
        }
    )
    said = (
        "No clear difference from the control is large enough for ears to notice (about 1 dB); "
        "2 smaller differences exceed run-to-run scatter."
    )
    assert headline(found, "ears") == said
    assert further_words(found, "ears") == OF_THESE_FITTINGS
    block = found.block(ROUGH, "ears")
    assert condition_sentence(block) == said
    assert heard_words(block) == ""


def test_that_smaller_differences_are_counted_beside_the_finding_with_their_sets():
    found = found_of(
        {
            LINE: {"287": around(57.0), "205": around(61.0), "862": around(61.0)},
            BOOM: {"287": around(70.4), "205": around(70.4), "862": around(70.0)},
        }
    )
    count = "2 more differences are clear but smaller than ears notice (205 and 287)."
    assert headline(found, "ears").startswith("Set 287 is 4.0 dB quieter")
    assert further_words(found, "ears") == f"{count} {OF_THESE_FITTINGS}"
    block = found.block(ROUGH, "ears")
    assert condition_sentence(block) == (
        f"Against the control: 287 is 4.0 dB quieter in the cavity line. {count}"
    )
    assert heard_words(block) == (
        "A change of 4.0 dB is noticed without a direct comparison (from about 3 dB, common "
        "practice)."
    )


#: Level of the control, scatter of its runs, and the least difference that may be named, as it
#: reads: 1 dB, what 1 dB does to 20 sone on the way down, and so on.
_KINDS = {
    BOOM: (70.0, 0.2, 1.0),
    ("leq_a", "dB(A)"): (65.0, 0.2, 1.0),
    ("loudness_n", "sone"): (20.0, 0.2, 1.2),
    SHARP: (1.2, 0.01, 0.08),
    ("roughness", "asper"): (0.5, 0.01, 0.07),
}
_NAMED = re.compile(
    r"(\d+\.\d+) (dB\(A\)|dB|sone|acum|asper) (?:quieter|louder|less|sharper|rough)"
)
_COUNTED = re.compile(r"(\d+) (?:more|smaller) ")


def any_study(rng):
    """Two sets beside the control, by up to three times what ears notice."""

    def shifted(least, *times):
        return least * rng.choice(times) * rng.choice([-1, 1])

    return found_of(
        {
            kind: {
                code: level + shift + scatter * rng.standard_normal(3)
                for code, shift in (
                    ("862", 0.0),
                    (
                        "417",
                        least * rng.choice([0.0, 0.3, 0.8, 1.0, 1.3, 3.0]) * rng.choice([-1, 1]),
                    ),
                    ("205", least * rng.choice([0.0, 0.5]) * rng.choice([-1, 1])),
                )
            }
            for kind, (level, scatter, least) in _KINDS.items()
            if rng.random() < 0.7
        }
    )


def test_that_no_sentence_of_any_study_names_a_difference_that_nobody_hears():
    rng = np.random.default_rng(20)
    named_any = small_any = nothing_noticed = 0
    for _ in range(250):
        found = any_study(rng)
        least = {unit: size for (_, unit), (_, _, size) in _KINDS.items()}
        clear = len(found.clear("ears"))
        head, further = headline(found, "ears"), further_words(found, "ears")
        block = found.block(ROUGH, "ears")
        for words in (head, further, condition_sentence(block), heard_words(block)):
            for size, unit, *_ in _NAMED.findall(words):
                assert float(size) >= least[unit], words
        # Every clear difference is told or counted, none twice.
        counted = sum(int(count) for count in _COUNTED.findall(f"{head} {further}"))
        named = bool(_NAMED.search(head))
        assert named + counted == clear, (head, further)
        named_any += named
        small_any += "smaller than ears notice" in further
        nothing_noticed += "large enough for ears" in head
    assert min(named_any, small_any, nothing_noticed) > 20
