import itertools
import re

import pytest
from documents import HOSTILE, document_of, full_document, table_of
from written_page import Reader

from ratings.reports.as_html import html_of
from ratings.reports.colours import LIGHT, contrast_ratio
from ratings.reports.document import Cell, Column, LeadWords, Plot, Table
from ratings.reports.safe_text import STAND_IN


@pytest.mark.parametrize("words", HOSTILE)
def test_that_words_of_any_kind_stay_words(words):
    plain, hostile = Reader(html_of(full_document())), Reader(html_of(full_document(words)))
    assert hostile.wrong == []
    assert hostile.open == []
    tags = [tag for tag, _ in hostile.tags if tag != "br"]
    assert tags == [tag for tag, _ in plain.tags]


def test_that_what_cannot_be_written_has_a_stand_in_and_turns_nothing_around():
    page = html_of(document_of(table_of(("a\x00b\ud800c\u202ed",))))
    assert f"a{STAND_IN}b{STAND_IN}cd" in page
    page.encode("utf-8")


def test_that_the_page_needs_nothing_beside_it_and_is_light():
    page = html_of(full_document())
    assert not re.search(r"url\(|@import|<script|<link|src=|href=", page)
    assert "color-scheme: light;" in page
    assert "prefers-color-scheme" not in page


def test_that_no_heading_is_skipped():
    tags = [tag for tag, _ in Reader(html_of(full_document())).tags]
    levels = [int(tag[1]) for tag in tags if re.fullmatch(r"h\d", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels))
    assert 3 in levels


def test_that_rows_and_columns_of_a_table_are_named_for_a_screen_reader():
    tags = Reader(html_of(document_of(table_of(("a", "b"), ("c", "d"))))).tags
    scopes = [attrs["scope"] for tag, attrs in tags if tag == "th"]
    assert scopes == ["col", "col", "row", "row"]


def test_that_a_drawing_says_what_it_shows_and_what_it_relates_to():
    values = table_of(("Larch", "+1.0"))
    plot = Plot(
        "Cavity ring", "<svg></svg>", "Larch +1.0", "coarse, 80 km/h", "driver's ears",
        "8 evaluators", "Filled: clear.", values,
    )  # fmt: skip
    reader = Reader(html_of(document_of(plot)))
    labels = [attrs["aria-label"] for _, attrs in reader.tags if attrs.get("role") == "img"]
    assert labels == ["Larch +1.0"]
    assert "Coarse, 80 km/h, driver's ears, 8 evaluators. Filled: clear." in reader.words
    assert "+1.0" in reader.words


def test_that_the_meaning_of_each_column_stands_under_the_table():
    table = Table(
        (Column("W", "number", "how alike the orders are"), Column("n")), (), caption="c."
    )
    assert "c. W: how alike the orders are." in Reader(html_of(document_of(table))).words


def test_that_words_of_the_lead_are_marked():
    words = Reader(html_of(document_of(LeadWords("Take Larch on.")))).words
    assert words[words.index("Take Larch on.") + 1] == "(written by the lead)"


def test_that_a_row_must_have_a_cell_for_each_column():
    with pytest.raises(ValueError, match="a cell for each column"):
        Table((Column("a"), Column("b")), ((Cell("1"),),))


@pytest.mark.parametrize(
    "colour", [LIGHT.text, LIGHT.soft_text, LIGHT.side_a, LIGHT.side_b_text, LIGHT.attention]
)
def test_that_words_can_be_read_on_the_page(colour):
    assert contrast_ratio(colour, LIGHT.panel) >= 4.5
    assert contrast_ratio(LIGHT.text, LIGHT.attention_tint) >= 4.5
