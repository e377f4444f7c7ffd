"""What a word in a table may mean, and when it may mean too much."""

import pytest

from ratings.errors import ScoreTableError
from ratings.study.table_words import Words

SETS = Words("set", "code", {1: "417", 2: "862", 3: "205"}, {1: "Maple", 2: "Birch", 3: "417"})


def ids(words, *column):
    found = words.look_up(column)
    return [found.id_of(word, "a.csv, row 2, column set") for word in column]


def refusal(words, *column):
    with pytest.raises(ScoreTableError) as caught:
        ids(words, *column)
    return str(caught.value)


def test_that_codes_and_names_are_known_whatever_their_capitals_and_spaces():
    assert ids(SETS, "862", " birch ", "MAPLE") == [2, 2, 1]


def test_that_a_code_goes_before_a_name_in_a_column_of_codes():
    assert ids(SETS, "417", "862", "205") == [1, 2, 3]


def test_that_a_code_that_is_also_a_name_is_doubtful_beside_names():
    assert refusal(SETS, "417", "Birch") == (
        'a.csv, row 2, column set: "417" may mean more than one set of the study. '
        "Write the code as the study does in every row, one of: 205; 417; 862. "
        "Nothing was added."
    )


def test_that_names_that_differ_in_capitals_alone_are_doubtful():
    words = Words("set", "code", {1: "417", 2: "862"}, {1: "Maple", 2: "maple"})
    assert refusal(words, "Maple").startswith(
        'a.csv, row 2, column set: "Maple" may mean more than one set'
    )
    assert ids(words, "417", "862") == [1, 2]


def test_that_what_the_study_writes_is_told_apart_by_its_capitals():
    words = Words("attribute", "key", {1: "boom", 2: "Boom"}, {1: "Boom", 2: "Drone"})
    assert ids(words, "boom", "Boom") == [1, 2]
    assert "may mean more than one attribute" in refusal(words, "BOOM")
    assert "may mean more than one attribute" in refusal(words, "Boom", "Drone")


def test_that_a_missing_column_stands_for_the_one_thing_there_is():
    assert ids(Words("condition", "title", {4: "coarse asphalt"}), None) == [4]
    assert refusal(SETS, None) == (
        "a.csv, row 2, column set: nothing is not in the study. "
        "Write one of: 205; 417; 862. Nothing was added."
    )


def test_that_a_word_that_nobody_knows_is_told():
    assert "column set: Willow is not in the study" in refusal(SETS, "Willow")
