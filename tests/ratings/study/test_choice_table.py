"""Choice tables as spreadsheets really write them, and as they must not be."""

import pandas as pd
import pytest

from ratings.errors import ScoreTableError
from ratings.study.choice_table import read_choice_table

HEADER = "evaluator,first,second,choice"


@pytest.fixture
def file(tmp_path):
    def write(content):
        path = tmp_path / "choices.csv"
        path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
        return path

    return write


def refusal(path):
    with pytest.raises(ScoreTableError) as caught:
        read_choice_table(path)
    return caught.value.what_happened


def test_that_a_plain_table_is_read(file):
    table = read_choice_table(file(f"{HEADER}\nE1,417,862,first\nE1,862,905,none\n"))
    assert list(table.columns) == HEADER.split(",")
    assert table["choice"].tolist() == ["first", "none"]
    assert table["first"].tolist() == ["417", "862"]


def test_that_what_a_spreadsheet_does_to_a_table_does_not_matter(file):
    plain = read_choice_table(file(f"{HEADER},attribute\nE1,417,862,none,hiss\n"))
    dressed = (
        b"\xef\xbb\xbf\r\nEvaluator ;First;SECOND;Choice; attribute;\r\n;;;;;\r\n"
        b" E1;417;862; none ;hiss;\r\n"
    )
    pd.testing.assert_frame_equal(read_choice_table(file(dressed)), plain)


def test_that_a_missing_choice_is_allowed(file):
    table = read_choice_table(file(f"{HEADER}\nE1,417,862,\nE2,417,862,second\n"))
    assert table["choice"].tolist() == ["", "second"]


def test_that_the_other_order_and_a_numbered_repeat_are_no_duplicates(file):
    assert len(read_choice_table(file(f"{HEADER}\nE1,A,B,first\nE1,B,A,first\n"))) == 2
    repeated = f"{HEADER},repeat\nE1,A,B,first,1\nE1,A,B,second,2\n"
    assert len(read_choice_table(file(repeated))) == 2


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        ("", "choices.csv is empty."),
        (HEADER, "choices.csv has column names but no choices."),
        ("evaluator,first,choice\n", 'choices.csv, row 1: there is no column "second".'),
        (f"{HEADER},choice\n", 'choices.csv, row 1: there are two columns "choice".'),
        (
            f"{HEADER}\nE1,A,B,first\nE1,A,C,left\n",
            'choices.csv, row 3, column choice: "left" is not known.',
        ),
        (f"{HEADER}\nE1,A,,first\n", "choices.csv, row 2, column second: the cell is empty."),
        (f"{HEADER}\n,A,B,first\n", "choices.csv, row 2, column evaluator: the cell is empty."),
        (
            f"{HEADER}\nE1,A,B,first\nE2,A,B,none\n\nE1,A,B,second\n",
            "choices.csv, rows 2 and 5: the same pair is given more than once "
            "(evaluator E1, first A, second B).",
        ),
        (f"{HEADER}\nE1,A,B,first,x\n", "choices.csv, row 2: there are more cells than the 4"),
        (b"evaluator,first\n\xff", "choices.csv, row 2, is not text in UTF-8."),
        ("evaluator\0", "choices.csv is not a text file."),
        (f'{HEADER}\n"E1,A,B,first\n', "choices.csv, row 2: a quotation mark is opened"),
    ],
)
def test_that_a_wrong_table_is_refused_in_one_sentence(file, content, sentence):
    assert refusal(file(content)).startswith(sentence)


def test_that_a_missing_file_and_a_folder_are_told(tmp_path):
    assert refusal(tmp_path / "away.csv") == "There is no file away.csv."
    assert refusal(tmp_path).endswith("is a folder, not a choice table.")
