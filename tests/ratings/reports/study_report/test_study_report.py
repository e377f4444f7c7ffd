"""The report on a study: every kind of study gives a whole document, and says what it must."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from generated_studies import KINDS, question

from ratings.findings.verdict.judging import judge
from ratings.reports.as_html import html_of
from ratings.reports.as_pdf import pdf_of
from ratings.reports.document import Bullets, Columns, LeadWords, Paragraph, Plot, Table
from ratings.reports.study_report.material import Material
from ratings.reports.study_report.report import study_document, write_report
from ratings.reports.written_notes import WrittenNote
from ratings.storage.blind_study import StudyFacts
from ratings.storage.key import BlindnessLog, Opening
from ratings.study.attributes import Scale

NOON = datetime(2031, 5, 4, 12, tzinfo=UTC)
NO_LOG = BlindnessLog((), (), shares_clips=False, runs_added=(), later_scores=())


def material(kind, seed=1, **changes):
    asked = replace(question(kind, seed), **changes)
    facts = StudyFacts("Elm estate", "Elm", "", is_invented=True, scale=Scale(), created_at=NOON)
    return Material(facts, judge(asked), NOON, NO_LOG, scores=asked.scores)


def blocks_of(document):
    waiting = [*document.opening, *(block for s in document.sections for block in s.blocks)]
    for block in waiting:
        if isinstance(block, Columns):
            waiting += [*block.left, *block.right]
        yield block


def words_of(document):
    told = [document.title, document.foot]
    for block in blocks_of(document):
        if isinstance(block, Paragraph | LeadWords):
            told.append(block.text)
        if isinstance(block, Bullets):
            told += block.items
        if isinstance(block, Table):
            told += [cell.text for row in block.rows for cell in row]
    return told


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_that_every_kind_of_study_gives_a_whole_report(kind):
    document = study_document(material(kind))
    page = html_of(document)
    assert document.title in page
    assert page.count("<h2") >= 6
    assert pdf_of(document).startswith(b"%PDF")
    for plot in blocks_of(document):
        if isinstance(plot, Plot):
            assert plot.title
            assert plot.alternative
            assert plot.svg.startswith("<svg")
            assert plot.n, plot.title


def test_that_the_same_study_gives_the_same_bytes_and_another_date_other_ones():
    document = study_document(material("clear"))
    again = study_document(material("clear"))
    assert html_of(document) == html_of(again)
    assert pdf_of(document) == pdf_of(again)
    assert pdf_of(replace(document, date=datetime(2032, 1, 1, tzinfo=UTC))) != pdf_of(document)


def test_that_codes_stay_until_the_key_is_open_and_names_stand_everywhere_then():
    coded = words_of(study_document(material("clear")))
    assert any("Sets stay coded" in words for words in coded)
    named = study_document(material("named"))
    words = words_of(named)
    codes = question("named", 1).codes[1:]
    told = {code for code in codes for each in words if each == code or f"et {code}" in each}
    assert not told
    assert any(f"Set-{codes[0]}-name" in each for each in words)


def test_that_the_leads_words_are_marked_and_take_the_programs_place():
    asked = question("clear", 1)
    settings = replace(asked.settings, lead_words={"recommendation": "Take the first one on."})
    document = study_document(material("clear", settings=settings))
    leads = [block for block in blocks_of(document) if isinstance(block, LeadWords)]
    assert [block.text for block in leads] == ["Take the first one on."]
    assert not any("nowhere clearly worse" in each for each in words_of(document))


def test_that_every_caution_stands_before_the_findings():
    report = material("one flagged")
    document = study_document(report)
    first = document.sections[0]
    assert report.verdict.cautions
    told = [item for block in first.blocks for item in block.items]
    assert told == [each.sentence for each in report.verdict.cautions]


def test_that_an_opened_key_is_told_with_who_when_and_why():
    act = Opening("L. Alder", "all have finished", NOON, 0, 0)
    report = replace(material("clear"), blindness=replace(NO_LOG, openings=(act,)))
    words = " ".join(words_of(study_document(report)))
    assert "opened by L. Alder on 2031-05-04 12:00 UTC: all have finished" in words


def test_that_notes_stand_under_their_set_and_stay_text():
    note = WrittenNote("E1", "201", "coarse asphalt, 80 km/h", "A", "<b>rings</b> & hums")
    page = html_of(study_document(replace(material("clear"), notes=(note,))))
    assert "&lt;b&gt;rings&lt;/b&gt; &amp; hums" in page


@pytest.mark.parametrize("kind", ["one set", "clear", "forty sets"])
def test_that_the_first_page_has_one_plot_and_no_more_sets_than_fit(kind):
    document = study_document(material(kind))
    plots = [block for block in document.opening if isinstance(block, Plot)]
    assert len(plots) == 1
    tables = [block for block in document.opening if isinstance(block, Table)]
    assert all(len(table.rows) <= 8 for table in tables)


def test_that_a_folder_that_cannot_be_made_is_told_before_anything_is_read(tmp_path):
    from ratings.errors import StudyError

    (tmp_path / "file").write_text("")
    with pytest.raises(StudyError, match="cannot be made"):
        write_report(None, tmp_path / "file" / "reports")
