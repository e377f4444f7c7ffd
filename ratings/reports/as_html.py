"""A document as one HTML file that needs nothing beside it."""

from collections.abc import Sequence
from html import escape

from ratings.reports.document import (
    Block,
    Bullets,
    Cell,
    ColumnKind,
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
from ratings.reports.page_style import page_style
from ratings.reports.safe_text import safe_text

#: What stands under words that the lead wrote.
BY_THE_LEAD = "written by the lead"


def html_of(document: Document) -> str:
    """Return the page: light always, no scripts, nothing fetched."""
    parts = [_opening(document), *map(_section, document.sections), _foot(document)]
    return (
        f'<!DOCTYPE html>\n<html lang="{_text(document.language)}"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<meta name="date" content="{document.date:%Y-%m-%d}">'
        f"<title>{_text(document.name)}</title><style>{page_style()}</style></head>"
        f"<body><main>{''.join(parts)}</main></body></html>\n"
    )


def _text(words: str) -> str:
    return escape(safe_text(words))


def _lines(words: str) -> str:
    return _text(words).replace("\n", "<br>")


def _opening(document: Document) -> str:
    above = "".join(
        f"<span>{_text(words)}</span>" for words in (document.head, document.head_end) if words
    )
    head = f'<p class="head">{above}</p>' if above else ""
    return f"<header>{head}<h1>{_text(document.title)}</h1>{_blocks(document.opening, 2)}</header>"


def _foot(document: Document) -> str:
    return f"<footer><p>{_text(document.foot)}</p></footer>" if document.foot else ""


def _section(section: Section) -> str:
    looks = [
        name
        for name, holds in (("page", section.starts_page), ("appendix", section.is_appendix))
        if holds
    ]
    look = f' class="{" ".join(looks)}"' if looks else ""
    return f"<section{look}><h2>{_text(section.heading)}</h2>{_blocks(section.blocks, 3)}</section>"


def _blocks(blocks: Sequence[Block], level: int) -> str:
    return "".join(_block(block, level) for block in blocks)


def _block(block: Block, level: int) -> str:
    match block:
        case Paragraph(text, look):
            return f"<p{_class(look)}>{_lines(text)}</p>"
        case Subheading(text):
            return _heading(text, level)
        case Bullets(items, look):
            return f"<ul{_class(look)}>{''.join(f'<li>{_lines(each)}</li>' for each in items)}</ul>"
        case LeadWords(text):
            return (
                f'<div class="by-lead"><p>{_lines(text)}</p>'
                f'<p class="small">({BY_THE_LEAD})</p></div>'
            )
        case KeyFacts(facts):
            rows = "".join(f"<dt>{_text(name)}</dt><dd>{_lines(said)}</dd>" for name, said in facts)
            return f"<dl>{rows}</dl>"
        case Table():
            return _table(block, level)
        case Plot():
            return _plot(block, level)
        case Columns(left, right):
            sides = "".join(f"<div>{_blocks(side, level)}</div>" for side in (left, right))
            return f'<div class="pair">{sides}</div>'


def _heading(words: str, level: int) -> str:
    return f"<h{level}>{_text(words)}</h{level}>" if words else ""


def _class(look: str) -> str:
    return "" if look == "body" else f' class="{look}"'


def _table(table: Table, level: int, look: str = "body") -> str:
    kinds = [column.kind for column in table.columns]
    head = "".join(
        f'<th scope="col"{_kind(column.kind)}>{_text(column.heading)}</th>'
        for column in table.columns
    )
    rows = "".join(
        f"<tr>{''.join(map(_cell, row, kinds, range(len(row))))}</tr>" for row in table.rows
    )
    below = table.words_below
    caption = f"<figcaption>{_lines(below)}</figcaption>" if below else ""
    name = f' aria-label="{_text(table.title)}"' if table.title else ""
    return (
        f'<figure{_class(look)}>{_heading(table.title, level)}<div class="wide"><table{name}>'
        f"<thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table></div>{caption}</figure>"
    )


def _kind(kind: ColumnKind, *more: str) -> str:
    names = " ".join(name for name in ("" if kind == "text" else kind, *more) if name)
    return f' class="{names}"' if names else ""


def _cell(cell: Cell, kind: ColumnKind, place: int) -> str:
    aside = f" <small>{_text(cell.aside)}</small>" if cell.aside else ""
    looks = (cell.tone, "strong" if cell.is_strong else "", "tinted" if cell.tint else "")
    tint = f' style="background:{escape(cell.tint)}"' if cell.tint else ""
    # A name in another script keeps its own direction and does not turn its neighbours.
    own = ' dir="auto"' if kind == "text" else ""
    start = '<th scope="row"' if place == 0 else "<td"
    end = "</th>" if place == 0 else "</td>"
    return f"{start}{_kind(kind, *looks)}{tint}{own}>{_lines(cell.text)}{aside}{end}"


def _plot(plot: Plot, level: int) -> str:
    below = plot.words_below
    caption = f"<figcaption>{_lines(below)}</figcaption>" if below else ""
    values = (
        f"<details><summary>Values</summary>{_table(plot.values, level, 'values')}</details>"
        if plot.values
        else ""
    )
    return (
        f'<figure>{_heading(plot.title, level)}<div class="wide" role="img" '
        f'aria-label="{_text(plot.alternative)}">{plot.svg}</div>{caption}{values}</figure>'
    )
