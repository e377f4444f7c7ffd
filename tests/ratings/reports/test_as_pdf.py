import re
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import datetime, timedelta, timezone

import pytest
from documents import DRAWING, HOSTILE, NOON, document_of, full_document, table_of

from ratings.errors import RatingsError
from ratings.reports import as_pdf
from ratings.reports.as_pdf import pdf_of
from ratings.reports.document import Cell, Column, Document, Plot, Section, Table


def pages_of(pdf):
    return max(int(count) for count in re.findall(rb"/Count\s*(\d+)", pdf))


@pytest.mark.parametrize("words", HOSTILE)
def test_that_words_of_any_kind_can_be_set(words):
    pdf = pdf_of(full_document(words))
    assert pdf.startswith(b"%PDF-")


def test_that_words_are_never_part_of_the_program():
    told = as_pdf._document(full_document("#panic()"))
    assert "#panic()" in str(told)
    assert "#panic()" not in as_pdf.PROGRAM


def test_that_a_document_is_set_to_the_same_bytes_again():
    first = pdf_of(full_document())
    as_pdf._compiler.cache_clear()
    assert pdf_of(full_document()) == first
    assert b"2031" in first


def test_that_documents_are_set_on_many_threads_at_once():
    def work(place):
        return pdf_of(full_document(f"words {place} \u6f22"))

    with ThreadPoolExecutor(4) as threads:
        found = list(threads.map(work, range(8)))
    assert found == [work(place) for place in range(8)]


def test_that_a_moment_of_any_zone_dates_the_file_to_the_second():
    zone = timezone(timedelta(hours=2))
    moment = datetime(2031, 7, 31, 14, 0, 0, 123456, tzinfo=zone)
    assert pdf_of(replace(document_of(), date=moment)) == pdf_of(document_of())


def test_that_the_pdf_is_tagged_titled_and_accessible():
    pdf = pdf_of(full_document())
    assert b"/StructTreeRoot" in pdf
    assert b"<pdfuaid:part>1</pdfuaid:part>" in pdf
    assert re.search(rb"/Lang\s*\(en\)", pdf)
    assert re.search(rb"/DisplayDocTitle\s*true", pdf)


def test_that_only_the_fonts_that_come_with_it_are_used():
    names = set(
        re.findall(rb"/FontName\s*/\w+\+([\w-]+)", pdf_of(full_document("a \u05d0 \u2192")))
    )
    assert b"SourceSans3-Roman" in names
    assert all(re.match(rb"SourceSans3|DejaVuSansMono|Libertinus|NewCM", name) for name in names)


def test_that_a_letter_that_no_font_holds_has_a_stand_in():
    told = as_pdf._with_letters_that_can_be_set({"a": ["x\N{GRINNING FACE}\u2212\u05d0"]})
    assert told == {"a": ["x\ufffd\u2212\u05d0"]}


def test_that_a_long_table_goes_on_over_pages():
    rows = [(f"row {place}", "rings after each joint " * 6) for place in range(120)]
    assert pages_of(pdf_of(document_of(table_of(*rows)))) >= 4


def test_that_a_wide_table_goes_on_below_with_its_names():
    table = table_of(["Larch", *map(str, range(40))], kind="number")
    pieces = as_pdf._tables(table)
    assert len(pieces) == 4
    assert [piece["rows"][0][0]["text"] for piece in pieces] == ["Larch"] * 4
    shown = [cell["text"] for piece in pieces for cell in piece["rows"][0][1:]]
    assert shown == [str(place) for place in range(40)]


def test_that_a_table_without_rows_and_an_empty_document_can_be_set():
    assert pages_of(pdf_of(document_of(Table((Column("a"),), ())))) == 1
    assert pages_of(pdf_of(Document("", "empty", NOON))) == 1


def test_that_a_section_begins_a_page_where_it_is_told_to():
    sections = (Section("one", ()), Section("two", (), starts_page=True))
    assert pages_of(pdf_of(document_of(sections=sections))) == 2


def test_that_a_program_that_is_not_installed_is_told(monkeypatch):
    as_pdf._compiler.cache_clear()
    monkeypatch.setitem(sys.modules, "typst", None)
    with pytest.raises(RatingsError, match="typst, which is not installed"):
        pdf_of(document_of())


def test_that_a_drawing_that_cannot_be_set_is_told():
    broken = Plot("t", DRAWING[:-3], "a")
    with pytest.raises(RatingsError, match="could not be set"):
        pdf_of(document_of(broken))


def test_that_a_tinted_cell_carries_its_tint():
    told = as_pdf._tables(Table((Column("a"),), ((Cell("+1", tint="#E6EDF7"),),)))
    assert told[0]["has_tint"]
    assert told[0]["rows"][0][0]["tint"] == "#E6EDF7"
