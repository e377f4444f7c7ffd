"""One written page or report, as values: what it says, in which order, and how it stands out.

Every text is plain text; what writes the document (`as_html`, `as_pdf`) keeps it so.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

#: What every document on the sample says of it.
INVENTED = (
    "Invented data: this vehicle, these sets and these evaluators do not exist, and the scores are "
    "made up."
)

Look = Literal["body", "lead", "soft", "notice", "small"]
"""lead: sentences under the title; soft: what stands behind; notice: what is to be read first."""

Tone = Literal["", "better", "worse", "attention", "soft", "done"]
"""Colour of a cell's words; the words must say it too."""

ColumnKind = Literal["text", "number", "middle"]


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Running text; a line break in it stays one."""

    text: str
    look: Look = "body"


@dataclass(frozen=True, slots=True)
class Subheading:
    """A heading inside a section, or above one side of `Columns`."""

    text: str


@dataclass(frozen=True, slots=True)
class Bullets:
    """Short sentences, one below the other."""

    items: tuple[str, ...]
    look: Look = "body"


@dataclass(frozen=True, slots=True)
class LeadWords:
    """What the lead wrote, or changed; marked as the lead's own words."""

    text: str


@dataclass(frozen=True, slots=True)
class KeyFacts:
    """Names with what belongs to them, such as ``("Vehicle", "Birch hatch")``."""

    facts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table.

    Attributes
    ----------
    kind
        text stands at the start, number at the end, middle in the middle.
    meaning
        What the column holds, said under the table; may be empty.
    """

    heading: str
    kind: ColumnKind = "text"
    meaning: str = ""


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell of a table.

    Attributes
    ----------
    aside
        What stands small and soft behind the text.
    tint
        Surface behind the text as ``#RRGGBB``, or empty; the text must say it too.
    """

    text: str
    aside: str = ""
    is_strong: bool = False
    tone: Tone = ""
    tint: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under a heading; the first cell of a row names the row.

    Attributes
    ----------
    title
        Stands above the table; may be empty.
    caption
        Stands under it, before the columns' meanings.
    """

    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    title: str = ""
    caption: str = ""

    def __post_init__(self) -> None:
        if any(len(row) != len(self.columns) for row in self.rows):
            raise ValueError("every row of a table has a cell for each column")

    @property
    def words_below(self) -> str:
        """Caption and the columns' meanings as one paragraph."""
        told = [f"{each.heading}: {each.meaning}" for each in self.columns if each.meaning]
        meanings = f"{'; '.join(told)}." if told else ""
        return " ".join(part for part in (self.caption, meanings) if part)


@dataclass(frozen=True, slots=True)
class Plot:
    """A drawing with all that makes it readable alone.

    Attributes
    ----------
    svg
        One ``<svg>`` with colours and legend in it, as `ratings.reports.plots` draws them into a
        plot that brings the rest.
    alternative
        What a person who cannot see the drawing is told.
    condition, channel, n
        Where, heard or measured by what, and how many, such as ``"8 evaluators"``; empty where
        there is none.
    caption
        What the marks mean.
    values
        The drawn values, for who cannot see the drawing, where they are few.
    """

    title: str
    svg: str = ""
    alternative: str = ""
    condition: str = ""
    channel: str = ""
    n: str = ""
    caption: str = ""
    values: Table | None = None

    @property
    def words_below(self) -> str:
        """Condition, channel, n and caption as one paragraph."""
        facts = ", ".join(part for part in (self.condition, self.channel, self.n) if part)
        # The first letter only: what follows may be a name.
        facts = f"{facts[0].upper()}{facts[1:]}." if facts else ""
        return " ".join(part for part in (facts, self.caption) if part)


@dataclass(frozen=True, slots=True)
class Columns:
    """Two groups of blocks side by side; one below the other where there is no room."""

    left: "tuple[Block, ...]"
    right: "tuple[Block, ...]"


Block = Paragraph | Subheading | Bullets | LeadWords | KeyFacts | Table | Plot | Columns


@dataclass(frozen=True, slots=True)
class Section:
    """A heading and what belongs to it.

    Attributes
    ----------
    starts_page
        Begins a new page on paper.
    is_appendix
        Set smaller: method, sources, versions.
    """

    heading: str
    blocks: tuple[Block, ...]
    starts_page: bool = False
    is_appendix: bool = False


@dataclass(frozen=True, slots=True)
class Document:
    """A whole document.

    Attributes
    ----------
    title
        The finding, as the first page's heading.
    name
        What the file is called in a reader's window, such as ``"Spring programme: report"``.
    head, head_end
        What stands at the top of every page on paper, at the start and at the end of the line.
    foot
        What stands at the bottom of every page.
    opening
        What follows the title, before the first section.
    date
        Written into the file; the only thing that may differ between two writings of one study.
    """

    title: str
    name: str
    date: datetime
    head: str = ""
    head_end: str = ""
    foot: str = ""
    opening: tuple[Block, ...] = ()
    sections: tuple[Section, ...] = ()
    language: str = "en"
