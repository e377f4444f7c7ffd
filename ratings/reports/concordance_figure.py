"""Kendall's W of every attribute as one drawing: dot, interval, and where it means nothing."""

from collections.abc import Mapping, Sequence
from html import escape

from ratings.findings.agreement import AttributeAgreement
from ratings.reports.figure_words import figure, interval, size_words

_WIDTH, _ROW, _TOP, _FOOT = 960, 34, 26, 44
_LEFT, _RIGHT = 190, 690
_FIGURE_AT, _INTERVAL_AT, _SIZE_AT = 746, 850, 930


def concordance_svg(
    blocks: Sequence[AttributeAgreement], attribute_names: Mapping[str, str]
) -> str:
    """Return the drawing as SVG that takes its colours from the page's style."""
    bottom = _TOP + _ROW * len(blocks)
    parts = [_heading()]
    parts += [_shade(block, row) for row, block in enumerate(blocks)]
    parts.append(_axis(bottom))
    parts += [_row(block, row, attribute_names) for row, block in enumerate(blocks)]
    return (
        f'<svg viewBox="0 0 {_WIDTH} {bottom + _FOOT}" role="img" '
        f'aria-label="Kendall\'s W per attribute">{"".join(parts)}</svg>'
    )


def _x(value: float) -> float:
    return round(_LEFT + (_RIGHT - _LEFT) * min(max(value, 0.0), 1.0), 1)


def _text(x: float, y: float, words: str, look: str = "", anchor: str = "start") -> str:
    return f'<text x="{x:g}" y="{y:g}" class="{look}" text-anchor="{anchor}">{escape(words)}</text>'


def _heading() -> str:
    return (
        _text(_FIGURE_AT, 16, "W", "axis", "end")
        + _text(_INTERVAL_AT, 16, "95 % interval", "axis", "end")
        + _text(_SIZE_AT, 16, "eval. × sets", "axis", "end")
    )


def _shade(block: AttributeAgreement, row: int) -> str:
    if block.kendall.w is None:
        return ""
    top = _TOP + _ROW * row
    smallest = block.chance_w
    width = _x(1.0 if smallest is None else smallest) - _LEFT
    shade = f'<rect class="shade" x="{_LEFT}" y="{top}" width="{width:g}" height="{_ROW}"/>'
    if smallest is None:
        return shade
    x = _x(smallest)
    return f'{shade}<line class="threshold" x1="{x}" x2="{x}" y1="{top}" y2="{top + _ROW}"/>'


def _axis(bottom: int) -> str:
    parts = [f'<line class="grid" x1="{_LEFT}" x2="{_RIGHT}" y1="{bottom}" y2="{bottom}"/>']
    for tick in range(6):
        x = _x(tick / 5)
        parts.append(f'<line class="grid" x1="{x}" x2="{x}" y1="{_TOP}" y2="{bottom + 5}"/>')
        parts.append(_text(x, bottom + 19, f"{tick / 5:.1f}", "axis", "middle"))
    parts.append(
        _text((_LEFT + _RIGHT) / 2, bottom + 38, "0 no common order, 1 the same", "axis", "middle")
    )
    return "".join(parts)


def _row(block: AttributeAgreement, row: int, attribute_names: Mapping[str, str]) -> str:
    y = _TOP + _ROW * (row + 0.5)
    name = attribute_names.get(block.attribute, block.attribute)
    kendall = block.kendall
    parts = [_text(0, y + 5, name)]
    if kendall.w is None:
        return "".join([*parts, _text(_LEFT, y + 5, "cannot be told yet", "axis")])
    look = "agrees" if block.agrees else "apart"
    if kendall.lower is not None and kendall.upper is not None:
        parts.append(
            f'<line class="{look}" x1="{_x(kendall.lower)}" x2="{_x(kendall.upper)}" '
            f'y1="{y:g}" y2="{y:g}"/>'
        )
    parts.append(f'<circle class="{look}" cx="{_x(kendall.w)}" cy="{y:g}" r="6"/>')
    parts.append(_text(_FIGURE_AT, y + 5, figure(kendall.w), "", "end"))
    between = interval(kendall.lower, kendall.upper)
    parts.append(_text(_INTERVAL_AT, y + 5, between, "axis", "end"))
    parts.append(_text(_SIZE_AT, y + 5, size_words(kendall), "axis", "end"))
    return "".join(parts)
