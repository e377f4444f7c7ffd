"""How a document stands on paper: a Typst program that reads the document as JSON.

No text of a document is ever part of this program; it arrives as strings and stays text.
"""

#: The document arrives in ``sys.inputs.document``.
PROGRAM = r"""
#let doc = json(bytes(sys.inputs.document))
#let c = doc.colours.pairs().map(((name, hex)) => (name, rgb(hex))).to-dict()
#let tones = (better: c.side_a, worse: c.side_b_text, attention: c.attention, done: c.done,
  soft: c.soft_text)
#let soft(size: 8.5pt, body) = text(fill: c.soft_text, size: size, body)
#let lines(words) = words.split("\n").map(line => text(line)).join(linebreak())
#let small = 8.5pt

#set document(title: doc.name, date: datetime(..doc.date))
#set text(font: doc.fonts, size: 10pt, fill: c.text, lang: doc.language,
  number-width: "tabular", hyphenate: false)
#set par(leading: 0.62em, spacing: 1.0em, justify: false)
#set page(
  paper: "a4",
  margin: (top: 30mm, bottom: 26mm, x: 23mm),
  header-ascent: 12mm,
  footer-descent: 10mm,
  header: soft(grid(columns: (1fr, auto), column-gutter: 8mm,
    text(doc.head), text(doc.head_end))),
  footer: soft(grid(columns: (1fr, auto), column-gutter: 8mm, text(doc.foot),
    context [page #counter(page).display() of #counter(page).final().first()])),
)
// A unit stays in one line.
#show "km/h": box("km/h")
#show heading: set block(sticky: true)
#show heading.where(level: 1): it => block(width: 100%, below: 7mm,
  text(size: 20pt, weight: 700, par(leading: 0.5em, it.body)))
#show heading.where(level: 2): it => block(above: 11mm, below: 4mm, sticky: true,
  text(size: 14pt, weight: 700, par(leading: 0.5em, it.body)))
#show heading.where(level: 3): it => block(above: 7mm, below: 2.6mm, sticky: true,
  text(size: 10pt, weight: 700, it.body))

#let minor(words, level) = if words.trim() != "" {
  // In the opening a minor heading is of level 2, so that none is skipped; it looks alike.
  show heading: it => block(above: 7mm, below: 2.6mm, sticky: true,
    text(size: 10pt, weight: 700, it.body))
  heading(level: level, text(words))
}
#let below(words) = if words != "" {
  block(above: 3mm, width: 100%, soft(lines(words)))
}
#let paragraph(it) = {
  if it.look == "lead" { block(below: 6mm, text(size: 12pt, par(leading: 0.65em, lines(it.text)))) }
  else if it.look == "soft" { par(soft(size: 10pt, lines(it.text))) }
  else if it.look == "small" { par(soft(lines(it.text))) }
  else if it.look == "notice" {
    block(width: 100%, fill: c.attention_tint, stroke: (left: 2.5pt + c.attention),
      inset: (x: 4mm, y: 2.6mm), above: 4mm, below: 5mm, lines(it.text))
  } else { par(lines(it.text)) }
}
#let bullets(it) = {
  set text(size: if it.look == "small" { small } else { 10pt })
  set text(fill: c.soft_text) if it.look in ("small", "soft")
  list(indent: 0pt, spacing: 0.75em, ..it.items.map(lines))
}
#let by-lead(it) = block(width: 100%, stroke: (left: 1pt + c.tick), inset: (left: 4mm, y: 0.6mm),
  { lines(it.text); linebreak(); soft[(#it.mark)] })
#let facts(it) = grid(columns: (auto, 1fr), column-gutter: 7mm, row-gutter: 2.4mm,
  ..it.facts.map(((name, said)) => (soft(size: 10pt, text(name)), lines(said))).flatten())
#let filled(cell, is-first) = {
  let tone = tones.at(cell.tone, default: c.text)
  let weight = if cell.is_strong or is-first { 600 } else { 400 }
  table.cell(
    fill: if cell.tint == "" { none } else { rgb(cell.tint) },
    { text(fill: tone, weight: weight, lines(cell.text))
      if cell.aside != "" [ #soft(size: 8pt, text(cell.aside))] },
  )
}
// A short table stays on one page, with its title and what stands below it.
#let a-table(it, level) = block(width: 100%, above: 6mm, breakable: it.rows.len() > 14, {
  minor(it.title, level)
  let sides = (text: left, number: right, middle: center)
  let last = it.columns.len() - 1
  block(width: it.width * 100%, breakable: true, {
    set text(size: it.size * 1pt)
    set par(leading: 0.5em)
    table(
      columns: it.columns.map(each => each.share * 1fr),
      align: (x, y) => sides.at(it.columns.at(x).kind) + if y == 0 { bottom } else { top },
      stroke: (x, y) => if it.has_tint and y > 0 { 1.5pt + white } else { none },
      inset: (x, y) => (
        left: if x == 0 { 0pt } else { 2mm },
        right: if x == last and it.columns.at(x).kind != "middle" { 0pt } else { 2mm },
        y: 1.5mm),
      table.header(
        ..it.columns.map(each => soft(text(each.heading))),
        table.hline(stroke: 0.6pt + c.line),
      ),
      ..it.rows.map(row => row.enumerate().map(((x, cell)) => filled(cell, x == 0))).flatten(),
    )
  })
  below(it.below)
})
#let plot(it, level) = block(breakable: false, width: 100%, above: 6mm, below: 6mm, {
  minor(it.title, level)
  image(bytes(it.svg), format: "svg", width: 100%, alt: it.alternative)
  below(it.below)
})
#let blocks(all, level) = for it in all {
  if it.kind == "paragraph" { paragraph(it) }
  else if it.kind == "subheading" { minor(it.text, level) }
  else if it.kind == "bullets" { bullets(it) }
  else if it.kind == "by_lead" { by-lead(it) }
  else if it.kind == "facts" { facts(it) }
  else if it.kind == "table" { a-table(it, level) }
  else if it.kind == "plot" { plot(it, level) }
  else if it.kind == "columns" {
    block(above: 6mm, below: 6mm, grid(columns: (1fr, 1fr), column-gutter: 10mm,
      blocks(it.left, level), blocks(it.right, level)))
  }
}

#if doc.title.trim() != "" { heading(level: 1, text(doc.title)) }
#blocks(doc.opening, 2)
#for section in doc.sections {
  if section.starts_page { pagebreak(weak: true) }
  if section.heading.trim() != "" { heading(level: 2, text(section.heading)) }
  if section.is_appendix {
    set text(size: 8.5pt)
    blocks(section.blocks, 3)
  } else { blocks(section.blocks, 3) }
}
"""
