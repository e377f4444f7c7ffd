"""Lines, marks and words of an SVG drawing; coordinates in units of 1/720 of a page's width."""

from collections.abc import Iterable, Sequence
from html import escape

from ratings.reports.colours import LIGHT
from ratings.reports.safe_text import safe_text
from ratings.reports.set_marks import MarkShape

#: Width of a drawing: a letter of size 13 is then 8.4 pt high on A4.
WIDTH = 720
#: Sizes of words, and of those at axes.
SIZE, SMALL = 13.0, 12.0
#: What a page's own sheet says too: a drawing is saved alone as well.
_FONTS = "'Source Sans 3', system-ui, 'Segoe UI', 'DejaVu Sans', sans-serif"
#: Typst draws a variable font in SVG at its lightest, whatever `font-weight` says.
_REGULAR, _STRONG = "font-variation-settings:'wght' 400", "font-variation-settings:'wght' 600"
#: Mean width of a letter as a part of its size in the widest of these fonts, DejaVu Sans; measured
#: on English words.
_LETTER = 0.56

#: Corners of marks around 0, 0 at a radius of 1; what is missing here is a circle.
_CORNERS: dict[MarkShape, Sequence[tuple[float, float]]] = {
    "square": ((-0.88, -0.88), (0.88, -0.88), (0.88, 0.88), (-0.88, 0.88)),
    "triangle": ((0, -1.15), (1.05, 0.75), (-1.05, 0.75)),
    "diamond": ((0, -1.25), (1.1, 0), (0, 1.25), (-1.1, 0)),
    "star": (
        (0, -1.3), (0.33, -0.45), (1.24, -0.4), (0.53, 0.17), (0.76, 1.05), (0, 0.55),
        (-0.76, 1.05), (-0.53, 0.17), (-1.24, -0.4), (-0.33, -0.45),
    ),
    "cross": (
        (-0.4, -1.1), (0.4, -1.1), (0.4, -0.4), (1.1, -0.4), (1.1, 0.4), (0.4, 0.4),
        (0.4, 1.1), (-0.4, 1.1), (-0.4, 0.4), (-1.1, 0.4), (-1.1, -0.4), (-0.4, -0.4),
    ),
    "pentagon": ((0, -1.15), (1.1, -0.35), (0.68, 0.93), (-0.68, 0.93), (-1.1, -0.35)),
    "drop": ((0, 1.3), (0.9, -0.2), (0.5, -0.95), (-0.5, -0.95), (-0.9, -0.2)),
}  # fmt: skip


def svg(height: float, parts: Iterable[str], width: float = WIDTH) -> str:
    """Return a drawing that needs nothing beside it."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:g}" '
        f'font-family="{_FONTS}" font-size="{SIZE:g}" fill="{LIGHT.text}" '
        f'style="{_REGULAR}">{"".join(parts)}</svg>'
    )


def text(
    x: float,
    y: float,
    words: str,
    *,
    anchor: str = "start",
    colour: str = LIGHT.text,
    size: float = SIZE,
    is_strong: bool = False,
) -> str:
    """Return words whose foot line begins, ends or is centred at a point."""
    if not words:
        return ""
    weight = f' font-weight="600" style="{_STRONG}"' if is_strong else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="{size:g}" '
        f'fill="{colour}"{weight}>{escape(safe_text(words))}</text>'
    )


def soft(x: float, y: float, words: str, anchor: str = "start") -> str:
    """Return the words of an axis or a note."""
    return text(x, y, words, anchor=anchor, colour=LIGHT.soft_text, size=SMALL)


def upright(x: float, y: float, words: str) -> str:
    """Return the words of an axis that goes up, centred beside a point."""
    turned = f"rotate(-90 {x:.1f} {y:.1f})"
    return f'<g transform="{turned}">{soft(x, y, words, "middle")}</g>'


def line(
    x1: float,
    y1: float,
    x2: float,
    y2: float,
    *,
    colour: str = LIGHT.line,
    width: float = 1.0,
    dashes: str = "",
) -> str:
    """Return a straight line."""
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return (
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{colour}" '
        f'stroke-width="{width:g}"{dashed}/>'
    )


def course(
    points: Sequence[tuple[float, float]], colour: str, *, width: float = 1.8, dashes: str = ""
) -> str:
    """Return a line through points."""
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return (
        f'<polyline points="{_points(points)}" fill="none" stroke="{colour}" '
        f'stroke-width="{width:g}" stroke-linejoin="round"{dashed}/>'
    )


def surface(points: Sequence[tuple[float, float]], colour: str, share: float = 1.0) -> str:
    """Return a filled shape; `share` of what lies under it is hidden."""
    return f'<polygon points="{_points(points)}" fill="{colour}" fill-opacity="{share:g}"/>'


def box(x1: float, y1: float, x2: float, y2: float, colour: str) -> str:
    """Return a filled rectangle between two corners."""
    left, top = min(x1, x2), min(y1, y2)
    return (
        f'<rect x="{left:.1f}" y="{top:.1f}" width="{abs(x2 - x1):.1f}" '
        f'height="{abs(y2 - y1):.1f}" fill="{colour}"/>'
    )


def mark(
    shape: MarkShape,
    x: float,
    y: float,
    colour: str,
    *,
    radius: float = 5.0,
    is_filled: bool = True,
) -> str:
    """Return a set's mark; an open one is filled with the page's own colour."""
    look = f'fill="{colour if is_filled else LIGHT.panel}" stroke="{colour}" stroke-width="1.8"'
    corners = _CORNERS.get(shape)
    if corners is None:
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:g}" {look}/>'
    placed = [(x + radius * across, y + radius * down) for across, down in corners]
    return f'<polygon points="{_points(placed)}" {look}/>'


def letters_wide(words: str, size: float = SIZE) -> float:
    """Return how wide words may become in the widest font."""
    return len(words) * size * _LETTER


def fitted(words: str, room: float, size: float = SIZE) -> str:
    """Return the words, cut with an ellipsis where they might not fit."""
    words = " ".join(safe_text(words).split())
    most = max(int(room / (size * _LETTER)), 2)
    return words if len(words) <= most else f"{words[: most - 1].rstrip()}…"


def _points(points: Sequence[tuple[float, float]]) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
