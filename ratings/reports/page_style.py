"""The style of a page in HTML: light always, one quiet sheet on a screen, plain on A4."""

from string import Template

from ratings.reports.colours import LIGHT

#: Fonts of a page and of the drawings in it: the paper's own where it is there, else the system's.
FONTS = "'Source Sans 3', 'Source Sans Pro', system-ui, 'Segoe UI', 'DejaVu Sans', sans-serif"

_SHEET = Template("""
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { margin: 0; background: $ground; color: $text; overflow-wrap: anywhere;
  font: 11pt/1.5 $fonts; font-variant-numeric: tabular-nums; }
main { max-width: 960px; margin: 32px auto; padding: 56px 72px 48px; background: $panel; }
h1, h2, h3, p, ul, dl, figure { margin: 0; }
h1 { font-size: 23pt; line-height: 1.25; margin-bottom: 20px; max-width: 32em; }
h2 { font-size: 15pt; line-height: 1.3; margin-bottom: 12px; }
h3, header h2 { font-size: 11pt; margin-bottom: 6px; }
p, ul, dl { margin-bottom: 12px; max-width: 80ch; }
ul { padding-left: 1.2em; }
li { margin-bottom: 4px; }
.head { display: flex; justify-content: space-between; gap: 24px; margin-bottom: 40px;
  max-width: none; }
.head, .soft, .small, small, figcaption, footer { color: $soft_text; }
.head, .small, small, figcaption, footer, .appendix { font-size: 9.5pt; }
.lead { font-size: 13pt; line-height: 1.45; margin-bottom: 24px; }
.notice { background: $attention_tint; color: $text; border-left: 4px solid $attention;
  padding: 10px 16px; }
.by-lead { border-left: 2px solid $tick; padding-left: 14px; margin-bottom: 12px; }
.by-lead p { margin-bottom: 2px; }
section { margin-top: 56px; }
section h3, header h2 { margin-top: 24px; }
section h2 + figure h3, .pair h3:first-child, .pair h2:first-child { margin-top: 0; }
figure { margin: 24px 0; }
figure > h3, figure > h2 { margin-top: 0; }
figcaption { margin-top: 8px; max-width: 100ch; }
.pair { display: grid; grid-template-columns: repeat(2, minmax(0, 1fr)); gap: 8px 48px;
  margin: 24px 0; }
.pair figure { margin-top: 0; }
dl { display: grid; grid-template-columns: max-content 1fr; gap: 4px 24px; }
dt { color: $soft_text; }
dd { margin: 0; }
.wide { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; }
th, td { padding: 5px 14px 5px 0; vertical-align: baseline; text-align: left; font-weight: 400; }
thead th { color: $soft_text; font-size: 9.5pt; border-bottom: 1px solid $line;
  vertical-align: bottom; overflow-wrap: normal; }
tbody th { font-weight: 600; min-width: 4em; }
th:last-child, td:last-child { padding-right: 0; }
td:last-child:not(.number):not(.middle) { min-width: 8em; }
.number { text-align: right; }
.number, .middle { overflow-wrap: normal; }
.middle { text-align: center; }
.number:not(th), .middle:not(th) { white-space: nowrap; }
.tinted { border: 2px solid $panel; padding: 4px 6px; }
.strong { font-weight: 600; }
.better { color: $side_a; }
.worse { color: $side_b_text; }
.attention { color: $attention; }
.done { color: $done; }
td.soft { color: $soft_text; }
details { margin-top: 8px; font-size: 9.5pt; }
summary { color: $soft_text; cursor: pointer; padding: 12px 0; }
summary:focus-visible { outline: 2px solid $accent; }
.values { margin: 0; }
svg { display: block; width: 100%; height: auto; font-family: $fonts; }
footer { margin-top: 56px; }
@media print {
  @page { size: A4; margin: 20mm 20mm 18mm; }
  body { background: none; font-size: 9.5pt; line-height: 1.4; }
  main { margin: 0; padding: 0; max-width: none; }
  .wide { overflow: visible; }
  tr, figure svg, h1, h2, h3, p, li, .by-lead { break-inside: avoid; }
  h1, h2, h3 { break-after: avoid; }
  section { margin-top: 32px; }
  section.page { break-before: page; margin-top: 0; }
  table { font-size: 9pt; }
  details { display: none; }
  td, .notice, svg { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
}
@media screen and (max-width: 760px) {
  main { margin: 0; padding: 24px 16px 40px; }
  .pair { grid-template-columns: minmax(0, 1fr); }
  .wide > svg { min-width: 680px; }
}
""")


def page_style() -> str:
    """Return the style sheet of a page; everything it needs is in it."""
    used = {name: getattr(LIGHT, name) for name in LIGHT.__slots__}
    return _SHEET.substitute(used, fonts=FONTS)
