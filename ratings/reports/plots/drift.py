"""The control over the day: as it was, and corrected."""

from collections.abc import Sequence
from dataclasses import replace

from ratings.reports.colours import LIGHT
from ratings.reports.document import Cell, Column, Plot, Table
from ratings.reports.figure_words import figure
from ratings.reports.plots.axes import axis_over, frame
from ratings.reports.plots.drawing import course, mark, soft, svg

_LEFT, _RIGHT, _TOP, _BOTTOM, _HIGH = 58, 712, 36, 250, 302


def drift_plot(
    at: Sequence[float],
    raw: Sequence[float],
    corrected: Sequence[float],
    words: tuple[str, str],
    shown: Plot,
) -> Plot:
    """Draw the control's values into `shown`, which brings title, condition and caption.

    Parameters
    ----------
    at, raw, corrected
        Place in the order or time of day, rising, and the values there; `corrected` may be empty.
    words
        What runs along, and what is drawn, each with its unit.
    """
    x = axis_over(at, _LEFT, _RIGHT, least=1.0)
    y = axis_over([*raw, *corrected], _BOTTOM, _TOP, least=1.0)
    points = [(x.at(one), y.at(other)) for one, other in zip(at, raw, strict=True)]
    parts = [frame(x, y, *words), mark("disc", 8, 12, LIGHT.side_b, is_filled=False)]
    parts += [soft(20, 16, "as measured"), course(points, LIGHT.side_b, dashes="5 3")]
    parts += [mark("disc", *point, LIGHT.side_b, is_filled=False) for point in points]
    if corrected:
        points = [(x.at(one), y.at(other)) for one, other in zip(at, corrected, strict=True)]
        parts += [mark("square", 128, 12, LIGHT.side_a), soft(140, 16, "corrected")]
        parts += [course(points, LIGHT.side_a)]
        parts += [mark("square", *point, LIGHT.side_a, radius=4) for point in points]
    told = ", ".join(figure(value) for value in raw)
    return replace(
        shown,
        svg=svg(_HIGH, parts),
        alternative=f"{words[1]} over {words[0]}: {told}.",
        values=_values(at, raw, corrected, words),
    )


def _values(
    at: Sequence[float], raw: Sequence[float], corrected: Sequence[float], words: tuple[str, str]
) -> Table:
    names = (words[0], "as measured", *(["corrected"] if corrected else []))
    rows = zip(at, raw, *([corrected] if corrected else []), strict=True)
    return Table(
        tuple(Column(name, "number") for name in names),
        tuple(
            (Cell(f"{first:g}"), *(Cell(figure(each)) for each in rest)) for first, *rest in rows
        ),
    )
