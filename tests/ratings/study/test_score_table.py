"""Score tables as spreadsheets really write them, and as they must not be."""

import os

import numpy as np
import pandas as pd
import pytest

from ratings.errors import ScoreTableError
from ratings.study.score_table import COLUMNS, read_score_table, write_score_table

HEADER = "evaluator,set,attribute,score"


@pytest.fixture
def file(tmp_path):
    def write(content):
        path = tmp_path / "scores.csv"
        path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
        return path

    return write


def refusal(path, **how):
    with pytest.raises(ScoreTableError) as caught:
        read_score_table(path, **how)
    return caught.value.what_happened


def test_that_a_plain_table_is_read(file):
    table = read_score_table(file(f"{HEADER}\nE1,417,boom,7.5\nE2,417,boom,6\n"))
    assert list(table.columns) == ["evaluator", "set", "attribute", "score"]
    assert table["set"].tolist() == ["417", "417"]
    assert table["score"].tolist() == [7.5, 6.0]


def test_that_what_a_spreadsheet_does_to_a_table_does_not_matter(file):
    plain = read_score_table(file(f"{HEADER},repeat\nE1,417,hiss,7.5,1\nE2,862,hiss,6,1\n"))
    dressed = (
        b"\xef\xbb\xbf\r\nEvaluator ; Set;ATTRIBUTE;Score; repeat;\r\n"
        b' E1 ;417; hiss ;"7,5";1;\r\n;;;;;\r\n\r\nE2;862;hiss; 6 ;1;\r\n'
    )
    spread = read_score_table(file(dressed))
    # Rows keep the numbers that the spreadsheet shows: two are blank here.
    assert spread.index.tolist() == [3, 6]
    pd.testing.assert_frame_equal(spread.reset_index(drop=True), plain.reset_index(drop=True))
    tabbed = HEADER.replace(",", "\t") + "\trepeat\nE1\t417\thiss\t7,5\t1\nE2\t862\thiss\t6\t1\n"
    pd.testing.assert_frame_equal(read_score_table(file(tabbed)), plain)


@pytest.mark.parametrize("end", ["\r", "\n", "\r\n"])
def test_that_lines_may_end_in_any_of_the_usual_ways(file, end):
    rows = [HEADER, "E1,417,boom,7.5", "", "E2,417,boom,6"]
    table = read_score_table(file(end.join([*rows, ""])))
    assert table.index.tolist() == [2, 4]
    assert table["score"].tolist() == [7.5, 6.0]
    assert refusal(file(end.join([*rows, "E3,417,boom,7,5,6"]))).startswith("scores.csv, row 5:")
    assert refusal(file(end.join([*rows, 'E3,"417,boom,7']))) == (
        "scores.csv, row 5: a quotation mark is opened and never closed."
    )
    broken = end.join(rows).encode() + b",\xff"
    assert refusal(file(broken)) == "scores.csv, row 4, is not text in UTF-8."


def test_that_tabs_around_cells_do_not_matter_and_those_inside_are_kept(file):
    table = read_score_table(file(f'{HEADER}\nE1\t,\t"4\t17",\tboom , "7.5"\t\n'))
    assert table.iloc[0].tolist() == ["E1", "4\t17", "boom", 7.5]


def test_that_a_cell_may_be_both_driven_and_listened(file):
    both = f"{HEADER},origin\nE1,417,boom,7,driven\nE1,417,boom,6,listened\n"
    assert read_score_table(file(both))["score"].tolist() == [7.0, 6.0]
    assert refusal(file(f"{both}E1,417,boom,6,listened\n")) == (
        "scores.csv, rows 3 and 4: the same cell is given more than once "
        "(evaluator E1, set 417, attribute boom, origin listened)."
    )


@pytest.mark.parametrize("score", ['"7,5"', "7.5", '" 7,5\u00a0"'])
def test_that_a_quoted_decimal_comma_is_read_between_commas(file, score):
    assert read_score_table(file(f"{HEADER}\nE1,417,boom,{score}\n"))["score"].tolist() == [7.5]


def test_that_a_missing_cell_is_allowed(file):
    table = read_score_table(file(f"{HEADER}\nE1,417,boom,\nE2,417,boom,6\n"))
    assert np.isnan(table["score"].iloc[0])


def test_that_an_unused_optional_column_is_left_out_and_others_are_kept(file):
    table = read_score_table(file(f"{HEADER},condition,remark\nE1,417,boom,6,,louder\n"))
    assert "condition" not in table.columns
    assert table["remark"].tolist() == ["louder"]


def test_that_repeats_are_whole_numbers_or_names(file):
    numbers = read_score_table(file(f"{HEADER},repeat\nE1,417,boom,6,1\nE1,417,boom,6,2\n"))
    assert numbers["repeat"].dtype == np.int64
    names = read_score_table(file(f"{HEADER},repeat\nE1,417,boom,6,am\nE1,417,boom,6,pm\n"))
    assert names["repeat"].tolist() == ["am", "pm"]


@pytest.mark.parametrize(
    ("content", "what"),
    [
        ("", "scores.csv is empty."),
        (" \r\n \n", "scores.csv is empty."),
        (f"{HEADER}\n", "scores.csv has column names but no scores."),
        ("evaluator,set,score\nE1,417,7\n", 'scores.csv, row 1: there is no column "attribute".'),
        ("7,8,9,6\n1,2,3,4\n", 'scores.csv, row 1: there is no column "evaluator".'),
        (f"{HEADER},set\n", 'scores.csv, row 1: there are two columns "set".'),
        (
            f"{HEADER}\nE1,417,boom,7\nE2,417,boom,loud\n",
            'scores.csv, row 3, column score: "loud" is not a number.',
        ),
        (
            f"{HEADER}\nE1,417,boom,NaN\n",
            'scores.csv, row 2, column score: "NaN" is not a number.',
        ),
        (
            f"{HEADER}\nE1,417,boom,inf\n",
            'scores.csv, row 2, column score: "inf" is not a number.',
        ),
        (
            f"{HEADER}\nE1,417,boom,1_0\n",
            'scores.csv, row 2, column score: "1_0" is not a number.',
        ),
        (
            f'{HEADER}\nE1,417,boom,"1.234,5"\n',
            'scores.csv, row 2, column score: "1.234,5" can be read in more than one way.',
        ),
        (
            f"{HEADER}\nE1,417,boom,7,5\n",
            "scores.csv, row 2: there are more cells than the 4 columns of row 1.",
        ),
        (
            f"{HEADER}\nE1,417,boom,7\nE2,417,boom,7,5,6,7\n",
            "scores.csv, row 3: there are more cells than the 4 columns of row 1.",
        ),
        (
            f"{HEADER}\nE1,417,boom,7\n\nE2,417,boom,10.5\n",
            'scores.csv, row 4, column score: "10.5" lies outside the scale from 1 to 10.',
        ),
        (f"{HEADER}\nE1,,boom,7\n", "scores.csv, row 2, column set: the cell is empty."),
        (
            f"{HEADER}\nE1,417,boom,7\nE1,862,boom,7\nE1,417,boom,8\n",
            "scores.csv, rows 2 and 4: the same cell is given more than once "
            "(evaluator E1, set 417, attribute boom).",
        ),
        (
            f"{HEADER},repeat\nE1,417,boom,7,2\nE1,417,boom,8,2\n",
            "scores.csv, rows 2 and 3: the same cell is given more than once "
            "(evaluator E1, set 417, attribute boom, repeat 2).",
        ),
        (
            f"{HEADER},origin\nE1,417,boom,7,heard\n",
            'scores.csv, row 2, column origin: "heard" is not known.',
        ),
        (
            f"{HEADER},side\nE1,417,boom,7,C\n",
            'scores.csv, row 2, column side: "C" is not known.',
        ),
        (
            f"{HEADER},\nE1,417,boom,7,stray\n",
            "scores.csv, row 2: a cell stands in a nameless column.",
        ),
        (
            f'{HEADER}\nE1,417,boom,7\nE2,"417,boom,7\n',
            "scores.csv, row 3: a quotation mark is opened and never closed.",
        ),
        (f"{HEADER}\nE1,417,boom,7\n".encode() + b"\xff\xfe,4", "scores.csv, row 3, is not text"),
        (b"RIFF\0\0\0\0WAVE", "scores.csv is not a text file."),
    ],
)
def test_that_a_table_that_cannot_be_one_is_refused_with_its_place(file, content, what):
    assert refusal(file(content)).startswith(what)


def test_that_another_scale_and_a_step_are_respected(file):
    path = file(f"{HEADER}\nE1,417,boom,7.3\nE2,417,boom,7.25\n")
    assert "lies outside the scale from 0 to 5" in refusal(path, scale_low=0, scale_high=5)
    assert refusal(path, step=0.25) == (
        'scores.csv, row 2, column score: "7.3" is not on a step of 0.25.'
    )
    assert len(read_score_table(path, step=0.05)) == 2


def test_that_a_missing_file_and_a_folder_are_told_apart(tmp_path):
    assert refusal(tmp_path / "gone.csv") == "There is no file gone.csv."
    assert refusal(tmp_path) == f"{tmp_path.name} is a folder, not a score table."


def test_that_a_written_table_is_read_back_the_same(tmp_path):
    table = pd.DataFrame(
        {
            "score": [7.25, np.nan, 1 / 3 + 5],
            "evaluator": ["E1", "E2", 'E "3", x'],
            "set": ["417", "417", "862"],
            "attribute": ["boom"] * 3,
            "condition": ["coarse, 80 km/h"] * 3,
            "repeat": [1, 1, 2],
            "origin": ["listened", "driven", "listened"],
        }
    )
    path = tmp_path / "out.csv"
    write_score_table(table, path)
    first = path.read_text(encoding="utf-8").splitlines()[0].split(",")
    assert first == [column for column in COLUMNS if column in first]
    again = read_score_table(path).reset_index(drop=True)
    for column in table.columns:
        assert again[column].equals(table[column].astype(again[column].dtype)), column
    assert [entry.name for entry in tmp_path.iterdir()] == ["out.csv"]


def test_that_a_table_that_cannot_be_written_leaves_the_old_one(tmp_path):
    table = pd.DataFrame({"evaluator": ["E1"], "set": ["1"], "attribute": ["boom"], "score": [5.0]})
    with pytest.raises(ScoreTableError) as caught:
        write_score_table(table, tmp_path / "nowhere" / "out.csv")
    assert caught.value.what_happened.startswith("out.csv could not be written:")
    taken = tmp_path / "taken.csv"
    taken.mkdir()
    with pytest.raises(ScoreTableError):
        write_score_table(table, taken)
    assert [entry.name for entry in tmp_path.iterdir()] == ["taken.csv"]


@pytest.mark.skipif(os.name == "nt", reason="Windows has no pipes among the files")
def test_that_a_pipe_is_refused_instead_of_waited_for(tmp_path):
    pipe = tmp_path / "scores.csv"
    os.mkfifo(pipe)
    assert refusal(pipe) == "scores.csv is not an ordinary file."


def test_that_a_name_too_long_for_the_disk_is_refused_in_words(tmp_path):
    words = refusal(tmp_path / ("a" * 5000 + ".csv"))
    assert words == f"{'a' * 20}... could not be read: file name too long."


@pytest.mark.parametrize(
    ("written", "read"), [("1", True), ("TRUE", True), ("0", False), ("false", False), ("", False)]
)
def test_that_the_mark_of_scores_after_the_opening_is_read_as_yes_or_no(file, written, read):
    table = read_score_table(
        file(f"{HEADER},after_opening\nE1,417,boom,7,1\nE2,417,boom,6,{written}\n")
    )
    assert table["after_opening"].dtype == bool
    assert table["after_opening"].tolist() == [True, read]


def test_that_a_mark_that_says_neither_is_refused_with_its_place(file):
    assert refusal(file(f"{HEADER},after_opening\nE1,417,boom,7,1\nE2,417,boom,6,late\n")) == (
        'scores.csv, row 3, column after_opening: "late" is not known.'
    )


def test_that_the_mark_is_written_so_that_it_comes_back_from_any_spreadsheet(tmp_path):
    table = pd.DataFrame(
        {
            "evaluator": ["E1", "E2"],
            "set": ["417", "417"],
            "attribute": ["boom", "boom"],
            "score": [7.0, 6.0],
            "after_opening": [False, True],
        }
    )
    write_score_table(table, tmp_path / "out.csv")
    lines = (tmp_path / "out.csv").read_text(encoding="utf-8").splitlines()
    assert [line.split(",")[-1] for line in lines] == ["after_opening", "0", "1"]
    assert read_score_table(tmp_path / "out.csv")["after_opening"].tolist() == [False, True]
