import csv
import itertools
import re
from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest
from studies import SETS, small_study
from written_page import Reader

from ratings.errors import StudyError
from ratings.findings.agreement import agreement
from ratings.reports.agreement_page import (
    MOST_EVALUATORS_ON_A_PAGE,
    PageFacts,
    agreement_document,
    write_agreement_page,
)
from ratings.reports.as_html import html_of
from ratings.reports.figure_words import figure
from ratings.reports.written_notes import WrittenNote
from ratings.storage.lead_desk import LeadDesk
from ratings.study.attributes import DEFAULT_SCALE

NOON = datetime(2031, 7, 31, 12, 0, tzinfo=UTC)


FACTS = PageFacts("s", "", NOON, "v")


def page_of(blocks, notes=(), facts=FACTS):
    return html_of(agreement_document(facts, blocks, notes))


@pytest.fixture
def study_path(tmp_path):
    study = small_study(tmp_path, sets=3, conditions=2, is_invented=True, note="Dry, <12 C> & calm")
    conditions = [condition.title for condition in LeadDesk(study).conditions()]
    rows = [("evaluator", "set", "condition", "attribute", "repeat", "score")]
    for who, condition, repeat in itertools.product(range(5), conditions, (1, 2)):
        for place, name in enumerate(SETS):
            rows.append((f"P{who}", name, condition, "boom", repeat, 4 + place + who / 4))
            rows.append((f"P{who}", name, condition, "rumble", repeat, 4 + (place * who + who) % 3))
    path = tmp_path / "panel.csv"
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(rows)
    LeadDesk(study).bring_scores(path)
    study.close()
    return study.folder.path


@pytest.fixture
def page(study_path, tmp_path):
    written = write_agreement_page(study_path, tmp_path / "page.html", lambda: NOON)
    return written.read_text(encoding="utf-8")


def test_that_the_page_is_well_formed_and_needs_nothing_beside_it(page):
    reader = Reader(page)
    assert reader.wrong == []
    assert reader.open == []
    assert not {"script", "link", "img", "iframe"} & {tag for tag, _ in reader.tags}
    assert set(re.findall(r"https?:[^\"]*", page)) == {"http://www.w3.org/2000/svg"}
    assert "@import" not in page
    assert not re.search(r"url\(", page)


def test_that_the_page_says_finding_date_version_and_that_it_is_invented(page):
    words = " ".join(Reader(page).words)
    assert "The panel agrees on boom" in words
    assert "Written 2031-07-31 12:00 UTC by Twinset 0.1.0." in words
    assert "Invented data" in words
    assert "5 evaluators, 3 coded sets, 2 conditions." in words
    assert "Kendall and Babington Smith 1939" in words


def test_that_words_of_the_study_are_text_and_never_markup(page):
    assert "Dry, &lt;12 C&gt; &amp; calm" in page
    hostile = '<script>alert("x")</script>'
    facts = PageFacts(hostile, hostile, NOON, "1", attribute_names={"boom": hostile})
    assert "<script" not in page_of((), facts=facts)


def test_that_no_set_is_named_on_the_page(page):
    assert not [name for name in SETS if name.lower() in page.lower()]


def test_that_the_figures_on_the_page_are_those_of_the_findings(page):
    rows = [
        (f"Q{who}", code, "boom", score)
        for who, scores in enumerate(((9, 2, 5, 8), (6, 1, 3, 2), (8, 4, 6, 8), (7, 1, 2, 6)))
        for code, score in zip(("101", "202", "303", "404"), scores, strict=True)
    ]
    table = pd.DataFrame(rows, columns=["evaluator", "set", "attribute", "score"])
    blocks = agreement(table, DEFAULT_SCALE)
    words = Reader(page_of(blocks)).words
    block = blocks[0]
    for value in (
        block.kendall.w,
        block.icc.form("ICC(A,1)").value,
        block.icc.form("ICC(A,k)").value,
    ):
        assert figure(value) in words
    cells = [word for word in words if re.fullmatch(r"[+−]?\d+\.\d", word)]
    assert len(cells) >= 32


def test_that_every_cell_of_the_map_has_a_tint(page):
    styles = [attrs.get("style", "") for tag, attrs in Reader(page).tags if tag == "td"]
    tinted = [style for style in styles if style]
    # Two attributes, two maps each, five evaluators by three sets.
    assert len(tinted) == 2 * 2 * 5 * 3
    assert all(re.fullmatch(r"background:#[0-9A-F]{6}", style) for style in tinted)


def test_that_the_drawing_keeps_dot_and_interval_inside_the_axis(page):
    tags = Reader(page).tags
    dots = [float(attrs["cx"]) for tag, attrs in tags if tag == "circle"]
    assert len(dots) == 2
    assert all(190 <= x <= 690 for x in dots)


def test_that_notes_are_listed_as_text(page):
    assert "No notes yet." in Reader(page).words
    notes = (WrittenNote("E1", "303", "coarse & wet", "A", "<b>rings</b> & fades"),)
    written = page_of((), notes)
    assert "&lt;b&gt;rings&lt;/b&gt; &amp; fades" in written
    words = Reader(written).words
    assert words[words.index("What did they write?") + 6 :][:5] == [
        *("E1", "303", "A", "coarse & wet", "<b>rings</b> & fades"),
    ]
    assert Reader(written).wrong == []


def panel_table(evaluators, holes=0):
    """Scores of a panel whose first evaluator rates at random; the last `holes` are left out."""
    rng = np.random.default_rng(3)
    rows = [
        (f"Q{who}", code, "boom", repeat, float(level))
        for who, repeat in itertools.product(range(evaluators), (1, 2))
        for code, level in zip(
            ("101", "202", "303", "404"),
            rng.integers(1, 10, 4) if who == 0 else (3, 5, 6, 9) + rng.integers(0, 2, 4) / 4,
            strict=True,
        )
    ]
    table = pd.DataFrame(rows, columns=["evaluator", "set", "attribute", "repeat", "score"])
    gone = table.index[(table["evaluator"] == "Q1") & table["set"].isin(["101", "202"][:holes])]
    return table.drop(gone)


@pytest.mark.parametrize(
    ("holes", "words"),
    [
        (0, "6 evaluators, 4 sets, 0 cells without a score."),
        (1, "6 evaluators, 4 sets, 1 cell without a score."),
        (2, "6 evaluators, 4 sets, 2 cells without a score."),
    ],
)
def test_that_cells_without_a_score_are_counted_in_words(holes, words):
    blocks = agreement(panel_table(6, holes), DEFAULT_SCALE)
    assert words in " ".join(Reader(page_of(blocks)).words)


def test_that_flagged_evaluators_carry_a_sign_in_every_table():
    blocks = agreement(panel_table(6), DEFAULT_SCALE)
    words = Reader(page_of(blocks)).words
    # Two maps and the table of evaluators.
    assert words.count("Q0 !") == 3
    assert words.count("Q0") == 0
    assert words.count("Q3") == 3


@pytest.mark.parametrize("more", [0, 1])
def test_that_an_attribute_begins_a_printed_page_where_it_fits_on_one(more):
    blocks = agreement(panel_table(MOST_EVALUATORS_ON_A_PAGE + more), DEFAULT_SCALE)
    sections = agreement_document(FACTS, blocks).sections
    assert [each.starts_page for each in sections if each.heading == "boom"] == [not more]


def test_that_every_table_scrolls_inside_its_card(page):
    tags = Reader(page).tags
    tables = [place for place, (tag, _) in enumerate(tags) if tag == "table"]
    assert tables
    assert all(tags[place - 1] == ("div", {"class": "wide"}) for place in tables)


def test_that_words_of_method_stand_only_in_the_footnotes(page):
    body, foot = page.split("How it was worked out")
    assert "mean squares" not in body
    assert "mean squares" in foot
    assert "+ means side A scored higher" in body
    assert "Sets stay coded." in body


def test_that_a_study_without_scores_gives_a_page_that_says_so(tmp_path):
    study = small_study(tmp_path)
    study.close()
    path = write_agreement_page(study.folder.path, tmp_path / "page.html", lambda: NOON)
    words = " ".join(Reader(path.read_text(encoding="utf-8")).words)
    assert "No scores yet." in words


def test_that_a_place_that_cannot_be_written_is_told_and_leaves_nothing(study_path, tmp_path):
    with pytest.raises(StudyError, match="could not be written"):
        write_agreement_page(study_path, tmp_path / "gone" / "page.html")
    with pytest.raises(StudyError, match="could not be written"):
        write_agreement_page(study_path, study_path)
    assert not list(study_path.parent.glob(".*part"))


def test_that_a_folder_that_is_no_study_is_told(tmp_path):
    with pytest.raises(StudyError, match="holds no study"):
        write_agreement_page(tmp_path, tmp_path / "page.html")
