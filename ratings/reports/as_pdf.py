"""A document as a tagged PDF on A4, set by Typst; the same document gives the same bytes."""

import json
from collections.abc import Sequence
from datetime import UTC, datetime
from functools import lru_cache
from importlib.resources import files
from threading import Lock
from typing import TYPE_CHECKING, Any, Final

from ratings.errors import RatingsError
from ratings.reports.as_html import BY_THE_LEAD
from ratings.reports.colours import LIGHT
from ratings.reports.document import (
    Block,
    Bullets,
    Cell,
    Columns,
    Document,
    KeyFacts,
    LeadWords,
    Paragraph,
    Plot,
    Section,
    Subheading,
    Table,
)
from ratings.reports.safe_text import STAND_IN, breakable, safe_text
from ratings.reports.typst_style import PROGRAM

if TYPE_CHECKING:
    import typst

#: Accessible PDF: tagged, with alternative texts, a language and a title (ISO 14289-1).
_STANDARD: Final = "ua-1"
#: Source Sans 3 (Open Font License) comes as a package; for letters that it lacks, DejaVu Sans Mono
#: and Libertinus Serif come within Typst. Fonts of the machine are never looked at.
_FONT_PACKAGE = "fontpkg_source_sans_3"
_FONTS = ("Source Sans 3", "DejaVu Sans Mono")
#: A compiler that two threads use at once refuses one of them.
_ONE_AT_A_TIME = Lock()
#: Characters up to here are in the font.
_SURELY_SET = "\u017f"
_PROBE = b"""
#set document(title: "-")
#set text(lang: "en", font: ("Source Sans 3", "DejaVu Sans Mono"))
#sys.inputs.letter
"""
#: Letters that stand beside each other across A4, by a table's size in points; by counting.
_LETTERS_ACROSS = {9.5: 98, 8.5: 110, 7.5: 124}
#: A cell of more letters may be broken over lines; what lies between two columns, in letters.
_SHORT, _GAP = 24, 2
#: A narrow table is stretched no further than this, so that a row stays together.
_MOST_STRETCH = 1.8
#: More columns than this do not fit across A4: the table goes on below.
_MOST_COLUMNS = 11


def pdf_of(document: Document) -> bytes:
    """Return the document as a PDF.

    Raises
    ------
    RatingsError
        When Typst or its font is not installed, or cannot set the document.
    """
    told = json.dumps(_with_letters_that_can_be_set(_document(document)), ensure_ascii=False)
    try:
        return _set(PROGRAM.encode(), {"document": told}, _day(document))
    except RuntimeError as problem:
        raise RatingsError(
            f"The PDF could not be set: {problem}.",
            "The page in HTML says the same and prints well.",
        ) from problem


def _set(program: bytes, told: dict[str, str], moment: datetime | None = None) -> bytes:
    with _ONE_AT_A_TIME:
        compiled = _compiler().compile(
            program,
            format="pdf",
            pdf_standards=[_STANDARD],
            sys_inputs=told,
            timestamp=moment,
        )
    if not isinstance(compiled, bytes):
        raise TypeError("a PDF is one piece")
    return compiled


@lru_cache(maxsize=1)
def _compiler() -> "typst.Compiler":
    try:
        import typst

        folder = files(_FONT_PACKAGE) / "files"
    except ImportError as problem:
        raise RatingsError(
            f"PDF needs the package {problem.name}, which is not installed here.",
            "The page in HTML says the same and prints well.",
        ) from problem
    fonts = typst.Fonts(include_system_fonts=False, font_paths=[str(folder)])
    return typst.Compiler(font_paths=fonts)


def _with_letters_that_can_be_set(told: Any) -> Any:
    """Replace what no font holds, which an accessible PDF may not contain."""
    match told:
        case str():
            return "".join(
                letter if letter <= _SURELY_SET or _can_be_set(letter) else STAND_IN
                for letter in told
            )
        case list():
            return [_with_letters_that_can_be_set(each) for each in told]
        case dict():
            return {name: _with_letters_that_can_be_set(each) for name, each in told.items()}
    return told


@lru_cache(maxsize=4096)
def _can_be_set(letter: str) -> bool:
    try:
        _set(_PROBE, {"letter": letter})
    except RuntimeError:
        return False
    return True


def _text(words: str) -> str:
    return breakable(safe_text(words))


def _document(document: Document) -> dict[str, object]:
    day = _day(document)
    return {
        "title": _text(document.title),
        "name": safe_text(document.name),
        "language": document.language,
        "date": {
            "year": day.year, "month": day.month, "day": day.day,
            "hour": day.hour, "minute": day.minute, "second": day.second,
        },
        "head": _text(document.head),
        "head_end": _text(document.head_end),
        "foot": _text(document.foot),
        "opening": _blocks(document.opening),
        "sections": [_section(section) for section in document.sections],
        "fonts": list(_FONTS),
        "colours": {
            name: getattr(LIGHT, name) for name in LIGHT.__slots__ if name != "name"
        },
    }  # fmt: skip


def _day(document: Document) -> datetime:
    return document.date.astimezone(UTC).replace(microsecond=0)


def _section(section: Section) -> dict[str, object]:
    return {
        "heading": _text(section.heading),
        "starts_page": section.starts_page,
        "is_appendix": section.is_appendix,
        "blocks": _blocks(section.blocks),
    }


def _blocks(blocks: Sequence[Block]) -> list[dict[str, object]]:
    return [told for block in blocks for told in _block(block)]


def _block(block: Block) -> list[dict[str, object]]:
    match block:
        case Paragraph(text, look):
            return [{"kind": "paragraph", "text": _text(text), "look": look}]
        case Subheading(text):
            return [{"kind": "subheading", "text": _text(text)}]
        case Bullets(items, look):
            return [{"kind": "bullets", "items": [*map(_text, items)], "look": look}]
        case LeadWords(text):
            return [{"kind": "by_lead", "text": _text(text), "mark": BY_THE_LEAD}]
        case KeyFacts(facts):
            pairs = [[_text(name), _text(said)] for name, said in facts]
            return [{"kind": "facts", "facts": pairs}]
        case Table():
            return _tables(block)
        case Plot():
            return [_plot(block)]
        case Columns(left, right):
            return [{"kind": "columns", "left": _blocks(left), "right": _blocks(right)}]


def _plot(plot: Plot) -> dict[str, object]:
    return {
        "kind": "plot",
        "title": _text(plot.title),
        "svg": plot.svg,
        "alternative": safe_text(plot.alternative),
        "below": _text(plot.words_below),
    }


def _tables(table: Table) -> list[dict[str, object]]:
    """Return a table, in pieces with the first column repeated where it is too wide."""
    count = len(table.columns)
    starts = range(1, max(count, 2), _MOST_COLUMNS - 1)
    has_tint = any(cell.tint for row in table.rows for cell in row)
    pieces = []
    for start in starts:
        places = [0, *range(start, min(start + _MOST_COLUMNS - 1, count))]
        size, letters = _letters_wide([_letters_asked(table, place) for place in places])
        across = sum(letters) / _LETTERS_ACROSS[size]
        columns = [
            {"heading": _text(column.heading), "kind": column.kind, "share": share}
            for column, share in zip(map(table.columns.__getitem__, places), letters, strict=True)
        ]
        pieces.append(
            {
                "kind": "table",
                "title": _text(table.title) if start == 1 else "",
                "columns": columns,
                "rows": [[_cell(row[place]) for place in places] for row in table.rows],
                "below": _text(table.words_below) if start == starts[-1] else "",
                "has_tint": has_tint,
                "size": size,
                "width": min(across * _MOST_STRETCH, 1),
            }
        )
    return pieces


def _letters_asked(table: Table, place: int) -> int:
    """Return how many letters a column needs to stand in one line, its heading in two or three."""
    cells = [f"{row[place].text} {row[place].aside}".strip() for row in table.rows]
    heading = table.columns[place].heading
    longest_word = max(map(len, heading.split()), default=0)
    return max([*map(len, cells), longest_word, len(heading) // 2]) + _GAP


def _letters_wide(asked: Sequence[int]) -> tuple[float, list[int]]:
    """Return a table's size, and the letters of each column: the long ones share the rest."""
    short = sum(letters for letters in asked if letters <= _SHORT)
    long = sum(letters > _SHORT for letters in asked)
    fitting = (size for size, across in _LETTERS_ACROSS.items() if short + long * _SHORT <= across)
    size = next(fitting, min(_LETTERS_ACROSS))
    most = max((_LETTERS_ACROSS[size] - short) // max(long, 1), _SHORT)
    return size, [min(letters, most) for letters in asked]


def _cell(cell: Cell) -> dict[str, object]:
    return {
        "text": _text(cell.text),
        "aside": _text(cell.aside),
        "is_strong": cell.is_strong,
        "tone": cell.tone,
        "tint": cell.tint,
    }
