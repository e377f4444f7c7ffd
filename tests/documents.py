"""Documents with every kind of block in them, for the tests of what writes them."""

from datetime import UTC, datetime

from ratings.reports.document import (
    Bullets,
    Cell,
    Column,
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

NOON = datetime(2031, 7, 31, 12, 0, tzinfo=UTC)
DRAWING = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 20">'
    '<text x="5" y="12" font-size="8">drawn</text></svg>'
)
#: What breaks out of HTML, of a typesetter's markup, or of a line.
HOSTILE = (
    '<b>#eval("x")\\',
    "$x$ @ref [link](a) *strong* _low_ `code` #panic()",
    "</style></svg></table><script>alert(1)</script>",
    "\"]} '); ${a} {{b}} % \\u{1F600} &amp; &#60;",
    "W" * 300,
    "a/b" * 90,
    "\N{GRINNING FACE} \u6f22\u5b57",
    "\u0645\u0631\u062d\u0628\u0627 \u202egnp.exe",
    "a\x00b\x07c\x1bd\x0ce\x7f\ud800f\ufffe",
    "= heading\n- list\n+ list\n/ term: x",
)


def table_of(*rows, title="", kind="text"):
    head = tuple(Column(f"column {place}", kind) for place in range(len(rows[0])))
    return Table(head, tuple(tuple(map(Cell, row)) for row in rows), title=title)


def document_of(*blocks, **more):
    return Document("Larch rings less", "Spring: report", NOON, opening=blocks, **more)


def full_document(words="plain words"):
    """A document that says `words` in every place where words can stand."""
    table = Table(
        (Column(words, "text", words), Column(words, "number"), Column(words, "middle")),
        (
            (
                Cell(words, words, is_strong=True),
                Cell(words, tone="worse"),
                Cell("1", tint="#E6EDF7"),
            ),
        ),
        title=words,
        caption=words,
    )
    plot = Plot(words, DRAWING, words, words, words, words, words, values=table)
    blocks = (
        *(Paragraph(words, look) for look in ("lead", "body", "soft", "notice", "small")),
        Subheading(words),
        Bullets((words, words), "small"),
        LeadWords(words),
        KeyFacts(((words, words),)),
        table,
        plot,
        Columns((Subheading(words), LeadWords(words)), (Paragraph(words), table)),
    )
    return Document(
        words,
        words,
        NOON,
        words,
        words,
        words,
        blocks,
        (Section(words, blocks, starts_page=True), Section(words, blocks, is_appendix=True)),
    )
