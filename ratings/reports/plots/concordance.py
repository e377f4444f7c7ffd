"""Kendall's W of every attribute: dot, interval, and where chance alone explains it."""

from collections.abc import Mapping, Sequence

from ratings.findings.agreement import AttributeAgreement
from ratings.reports.colours import LIGHT
from ratings.reports.document import Plot
from ratings.reports.figure_words import figure, interval, size_words, threshold_words
from ratings.reports.plots.drawing import box, fitted, line, mark, soft, svg, text

_ROW, _TOP, _FOOT = 30, 26, 44
_LEFT, _RIGHT = 190, 490
_FIGURE_AT, _INTERVAL_AT, _SIZE_AT = 540, 640, 720


def concordance_plot(
    blocks: Sequence[AttributeAgreement], attribute_names: Mapping[str, str]
) -> Plot:
    """Return the plot of W with what its marks mean."""
    told = [
        f"{attribute_names.get(block.attribute, block.attribute)}: W {figure(block.kendall.w)}"
        for block in blocks
    ]
    return Plot(
        "Kendall's W with its 95 % interval",
        _drawn(blocks, attribute_names),
        f"{'; '.join(told)}.",
        condition="all conditions together",
        caption=f"{threshold_words(blocks)} Filled: above chance (adjusted p at most 0.05). "
        "Open: not.",
    )


def _drawn(blocks: Sequence[AttributeAgreement], attribute_names: Mapping[str, str]) -> str:
    bottom = _TOP + _ROW * len(blocks)
    parts = [
        soft(_FIGURE_AT, 16, "W", "end"),
        soft(_INTERVAL_AT, 16, "95 % interval", "end"),
        soft(_SIZE_AT, 16, "eval. × sets", "end"),
    ]
    parts += [_shade(block, row) for row, block in enumerate(blocks)]
    parts.append(_axis(bottom))
    parts += [_row(block, row, attribute_names) for row, block in enumerate(blocks)]
    return svg(bottom + _FOOT, parts)


def _x(value: float) -> float:
    return _LEFT + (_RIGHT - _LEFT) * min(max(value, 0.0), 1.0)


def _shade(block: AttributeAgreement, row: int) -> str:
    if block.kendall.w is None:
        return ""
    top, smallest = _TOP + _ROW * row, block.chance_w
    x = _x(1.0 if smallest is None else smallest)
    shade = box(_LEFT, top, x, top + _ROW, LIGHT.ground)
    if smallest is None:
        return shade
    return shade + line(x, top, x, top + _ROW, colour=LIGHT.attention, width=1.5, dashes="4 3")


def _axis(bottom: int) -> str:
    parts = [line(_LEFT, bottom, _RIGHT, bottom)]
    for tick in range(6):
        x = _x(tick / 5)
        parts.append(line(x, _TOP, x, bottom + 5))
        parts.append(soft(x, bottom + 19, f"{tick / 5:.1f}", "middle"))
    words = "0 no common order, 1 the same"
    return "".join([*parts, soft((_LEFT + _RIGHT) / 2, bottom + 38, words, "middle")])


def _row(block: AttributeAgreement, row: int, attribute_names: Mapping[str, str]) -> str:
    y = _TOP + _ROW * (row + 0.5)
    kendall = block.kendall
    name = attribute_names.get(block.attribute, block.attribute)
    parts = [text(0, y + 4.5, fitted(name, _LEFT - 12))]
    if kendall.w is None:
        return "".join([*parts, soft(_LEFT, y + 4.5, "cannot be told yet")])
    colour = LIGHT.higher if block.agrees else LIGHT.soft_text
    if kendall.lower is not None and kendall.upper is not None:
        parts.append(line(_x(kendall.lower), y, _x(kendall.upper), y, colour=colour, width=2.4))
    return "".join(
        [
            *parts,
            mark("disc", _x(kendall.w), y, colour, is_filled=bool(block.agrees)),
            text(_FIGURE_AT, y + 4.5, figure(kendall.w), anchor="end"),
            soft(_INTERVAL_AT, y + 4.5, interval(kendall.lower, kendall.upper), "end"),
            soft(_SIZE_AT, y + 4.5, size_words(kendall), "end"),
        ]
    )
