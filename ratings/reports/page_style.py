"""The style of a written page: light and dark on a screen, plain on A4."""

from string import Template

from ratings.reports.colours import DARK, LIGHT, Theme

#: What the sheet below draws with.
_USED = (
    "ground", "panel", "line", "tick", "text", "soft_text", "higher", "lower", "attention",
    "attention_tint",
)  # fmt: skip

_SHEET = Template("""
:root { color-scheme: light dark; $light }
@media (prefers-color-scheme: dark) { :root { $dark } }
* { box-sizing: border-box; }
body { margin: 0; background: var(--ground); color: var(--text);
  font: 11pt/1.45 system-ui, sans-serif; font-variant-numeric: tabular-nums; }
main { max-width: 1080px; margin: 0 auto; padding: 40px 32px 56px; }
h1 { font-size: 20pt; line-height: 1.25; margin: 0 0 8px; max-width: 40em; }
h2 { font-size: 15pt; margin: 0 0 4px; }
h3 { font-size: 11pt; margin: 0 0 8px; }
p { margin: 0 0 8px; max-width: 80ch; }
.soft, figcaption, small { color: var(--soft-text); }
figcaption, small { font-size: 9.5pt; }
section, figure { background: var(--panel); border: 1px solid var(--line); border-radius: 12px;
  padding: 20px 24px; margin: 24px 0 0; }
section figure { border: none; padding: 0; margin: 16px 0 0; }
.pair { display: grid; grid-template-columns: repeat(2, minmax(0, 1fr)); gap: 8px 40px; }
.notice { border-left: 4px solid var(--attention); background: var(--attention-tint);
  padding: 8px 16px; border-radius: 4px; }
.wide { overflow-x: auto; }
.notes .text { width: 50%; overflow-wrap: anywhere; white-space: pre-line; }
table { border-collapse: collapse; width: 100%; font-size: 10.5pt; }
th { font-weight: 400; color: var(--soft-text); text-align: left; }
th, td { padding: 5px 12px 5px 0; vertical-align: baseline; }
thead th { border-bottom: 1px solid var(--line); font-size: 9.5pt; }
tbody th { color: var(--text); font-weight: 600; white-space: nowrap; }
.number { text-align: right; white-space: nowrap; }
.flagged th, .flagged td { color: var(--attention); }
.map { border-collapse: separate; border-spacing: 3px; margin-left: -3px; }
.map thead th, .map td { border: none; text-align: center; padding: 4px 6px; }
.map tbody th { font-weight: 400; padding-right: 10px; }
.map td { background: var(--light); border-radius: 3px; box-shadow: inset 0 0 0 1px var(--line); }
.map .none { background: none; color: var(--soft-text); box-shadow: none; }
svg { display: block; width: 100%; height: auto; }
svg text { font: 13px system-ui, sans-serif; fill: var(--text); }
svg .axis { fill: var(--soft-text); font-size: 11px; }
svg .shade { fill: var(--ground); }
svg .threshold { stroke: var(--attention); stroke-dasharray: 4 3; stroke-width: 1.5; }
svg .grid { stroke: var(--line); }
svg .agrees { stroke: var(--higher); fill: var(--higher); stroke-width: 3; }
svg .apart { stroke: var(--soft-text); fill: var(--panel); stroke-width: 3; }
footer { margin-top: 32px; font-size: 9.5pt; color: var(--soft-text); }
footer li { margin-bottom: 4px; }
@media (prefers-color-scheme: dark) { .map td { background: var(--dark); } }
@media print {
  @page { size: A4; margin: 16mm 14mm; }
  :root { color-scheme: light; $light }
  body { background: none; font-size: 9.5pt; }
  main { padding: 0; max-width: none; }
  section, figure { border: none; padding: 0; border-radius: 0; }
  .wide { overflow: visible; }
  tr, figure, h2, h3, p, .pair, .attribute, footer { break-inside: avoid; }
  .attribute.page { break-before: page; }
  h2, h3, section > p { break-after: avoid; }
  .pair { gap: 8px 24px; }
  body { line-height: 1.3; }
  table { font-size: 9.5pt; }
  th, td { padding: 2px 10px 2px 0; }
  .map { font-size: 9pt; border-spacing: 2px; }
  .map thead th, .map td { padding: 2px 4px; }
  .map td { background: var(--light); }
  .map td, .notice, svg { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
}
@media screen and (max-width: 760px) {
  main { padding: 24px 16px 40px; }
  section, figure { padding: 16px; }
  .pair { grid-template-columns: minmax(0, 1fr); }
  svg { min-width: 680px; }
  .notes .text { min-width: 16em; }
}
""")


def page_style() -> str:
    """Return the style sheet of a page; everything it needs is in it."""
    return _SHEET.substitute(light=_properties(LIGHT), dark=_properties(DARK))


def _properties(colours: Theme) -> str:
    return " ".join(f"--{name.replace('_', '-')}: {getattr(colours, name)};" for name in _USED)
