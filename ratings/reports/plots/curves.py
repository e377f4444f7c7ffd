"""Levels over frequency or speed: the sets' courses over each other, or each over the control."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from ratings.reports.document import Plot
from ratings.reports.plots.axes import DASHES, Axis, axis_over, frame, legend, panels
from ratings.reports.plots.drawing import course, fitted, mark, soft, svg, text
from ratings.reports.set_marks import SetMark

#: More courses over each other cannot be followed; each then has a panel with the control.
_MOST_OVERLAID = 4
_MOST_PANELS = 12
_LEFT, _PLOT_HIGH, _FOOT = 58, 280, 52
_ACROSS, _GAP, _PANEL_HIGH = 3, 24.0, 196.0


@dataclass(frozen=True, slots=True)
class Course:
    """One set's levels; what is not finite is a gap.

    Attributes
    ----------
    x, y
        Of equal length, `x` rising; above 0 on an axis of frequencies.
    """

    mark: SetMark
    x: Sequence[float]
    y: Sequence[float]


def spectrum_plots(courses: Sequence[Course], unit: str, shown: Plot) -> tuple[Plot, ...]:
    """Draw third-octave or narrow-band levels over frequency; see `_plots`."""
    return _plots(courses, ("frequency in Hz", unit), shown, is_log=True)


def speed_plots(courses: Sequence[Course], unit: str, shown: Plot) -> tuple[Plot, ...]:
    """Draw levels over speed, as in a coast-down; see `_plots`."""
    return _plots(courses, ("speed in km/h", unit), shown, is_log=False)


def _plots(
    courses: Sequence[Course], words: tuple[str, str], shown: Plot, *, is_log: bool
) -> tuple[Plot, ...]:
    """Draw courses into `shown`, which brings title, condition, channel, n and caption.

    Up to four stand over each other; more have a panel each, beside the control, on as many plots
    as pages need.
    """
    alternative = f"{words[1]} over {words[0]}. {_reach(courses)}"
    shown = replace(shown, alternative=alternative)
    if len(courses) <= _MOST_OVERLAID:
        return (replace(shown, svg=_overlaid(courses, words, is_log=is_log)),)
    control = [each for each in courses if each.mark.is_control]
    others = [each for each in courses if not each.mark.is_control]
    pieces = [others[at : at + _MOST_PANELS] for at in range(0, len(others), _MOST_PANELS)]
    return tuple(
        replace(
            shown,
            title=f"{shown.title} ({number} of {len(pieces)})" if len(pieces) > 1 else shown.title,
            svg=_beside_control(piece, control, courses, words, is_log=is_log),
        )
        for number, piece in enumerate(pieces, start=1)
    )


def _axes(
    courses: Sequence[Course], place: tuple[float, float, float, float], *, is_log: bool
) -> tuple[Axis, Axis]:
    left, right, top, bottom = place
    x = [value for each in courses for value in each.x]
    y = [value for each in courses for value in each.y]
    return (
        axis_over(x, left, right, least=10, is_log=is_log),
        axis_over(y, bottom, top, least=10),
    )


def _overlaid(courses: Sequence[Course], words: tuple[str, str], *, is_log: bool) -> str:
    marks, top = legend([each.mark for each in courses], top=4, has_lines=True)
    bottom = top + _PLOT_HIGH
    x, y = _axes(courses, (_LEFT, 712, top + 6, bottom), is_log=is_log)
    drawn = [_drawn(each, x, y, DASHES[place]) for place, each in enumerate(courses)]
    return svg(bottom + _FOOT, [marks, frame(x, y, *words), *drawn])


def _beside_control(
    piece: Sequence[Course],
    control: Sequence[Course],
    everything: Sequence[Course],
    words: tuple[str, str],
    *,
    is_log: bool,
) -> str:
    marks, top = legend([each.mark for each in control], top=4, has_lines=True)
    told = f"each panel: {words[1]}, over {words[0]}"
    parts, bottom = [marks, soft(0, top + 12, told)], top + 20
    top = bottom
    for each, place in zip(piece, panels(len(piece), _ACROSS, _GAP, _PANEL_HIGH), strict=True):
        left, above, width = place
        above += top + 10
        left, right, bottom = left + 30, left + width, above + 150
        x, y = _axes(everything, (left, right, above + 14, bottom), is_log=is_log)
        parts.append(mark(each.mark.shape, left + 5, above, each.mark.colour, radius=4.5))
        parts.append(text(left + 16, above + 4.5, fitted(each.mark.words, width), is_strong=True))
        parts.append(frame(x, y, *words, is_small=True))
        parts += [_drawn(one, x, y, DASHES[0], has_marks=False) for one in control]
        parts.append(_drawn(each, x, y, DASHES[1], has_marks=False))
    return svg(bottom + 30, parts)


def _drawn(each: Course, x: Axis, y: Axis, dashes: str, *, has_marks: bool = True) -> str:
    points = [
        (x.at(one), y.at(other)) if math.isfinite(other) else None
        for one, other in zip(each.x, each.y, strict=True)
    ]
    stretches: list[list[tuple[float, float]]] = [[]]
    for point in points:
        if point is None:
            stretches.append([])
        else:
            stretches[-1].append(point)
    parts = [course(one, each.mark.colour, dashes=dashes) for one in stretches if len(one) > 1]
    # A point between two gaps has no line and is marked always.
    lonely = [one[0] for one in stretches if len(one) == 1]
    marked = lonely + (_spread([point for point in points if point]) if has_marks else [])
    return "".join(
        [*parts, *(mark(each.mark.shape, *point, each.mark.colour, radius=3.5) for point in marked)]
    )


def _spread(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return points for marks, at least 60 units apart."""
    kept: list[tuple[float, float]] = []
    for point in points:
        if not kept or point[0] - kept[-1][0] >= 60:
            kept.append(point)
    return kept


def _reach(courses: Sequence[Course]) -> str:
    told = []
    for each in courses:
        finite = [value for value in each.y if math.isfinite(value)]
        if finite:
            told.append(f"{each.mark.words}: {min(finite):.1f} to {max(finite):.1f}")
    return f"{'; '.join(told)}." if told else "No values."
