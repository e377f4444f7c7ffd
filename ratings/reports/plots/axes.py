"""Axes, their ticks and words, legends, and many small panels beside each other."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ratings.reports.plots.drawing import SMALL, WIDTH, letters_wide, line, mark, soft, upright
from ratings.reports.set_marks import SetMark

_LEGEND_ROW = 20
#: Line styles of sets, so that a course is told without its colour; in the order of the marks.
DASHES = ("", "8 3", "2 3", "8 3 2 3", "12 4", "4 4", "1 3", "12 3 2 3 2 3")


@dataclass(frozen=True, slots=True)
class Axis:
    """Values from `low` to `high` along a drawing from `start` to `end`."""

    low: float
    high: float
    start: float
    end: float
    is_log: bool = False

    def at(self, value: float) -> float:
        """Return where a value stands; beyond the ends it stands at the end."""
        low, high, here = self.low, self.high, min(max(value, self.low), self.high)
        if self.is_log:
            low, high, here = math.log10(low), math.log10(high), math.log10(here)
        share = (here - low) / (high - low) if high > low else 0.5
        return self.start + (self.end - self.start) * share

    def holds(self, value: float) -> bool:
        """Tell whether a value lies within the ends."""
        return self.low <= value <= self.high

    def ticks(self, most: int = 6) -> tuple[float, ...]:
        """Return round values on the axis, about `most` of them: 1, 2 or 5 and their tens."""
        if self.is_log:
            bases = (1, 2, 5) if most > 4 else (1,)
            decades = range(math.floor(math.log10(self.low)), math.ceil(math.log10(self.high)) + 1)
            found = (base * 10.0**decade for decade in decades for base in bases)
            return tuple(value for value in found if self.holds(value))
        step = _round_step((self.high - self.low) / most)
        first, last = math.ceil(self.low / step - 1e-9), math.floor(self.high / step + 1e-9)
        return tuple(round(number * step, 10) for number in range(first, last + 1))


def axis_over(
    values: Sequence[float], start: float, end: float, *, least: float, is_log: bool = False
) -> Axis:
    """Return an axis that holds the finite values with a margin, at least `least` wide."""
    finite = [value for value in values if math.isfinite(value)]
    low, high = (min(finite), max(finite)) if finite else (1.0, 10.0)
    if is_log:
        return Axis(low / 1.05, high * 1.05, start, end, is_log=True)
    spare = max(least - (high - low), (high - low) * 0.08) / 2
    return Axis(low - spare, high + spare, start, end)


def even_axis(values: Sequence[float], start: float, end: float, *, least: float) -> Axis:
    """Return an axis around zero that holds the finite values, at least from -least to least."""
    reach = max([least, *(abs(value) * 1.05 for value in values if math.isfinite(value))])
    step = _round_step(reach / 4)
    reach = math.ceil(reach / step - 1e-9) * step
    return Axis(-reach, reach, start, end)


def number(value: float) -> str:
    """Return a tick's figure, with a true minus sign."""
    words = f"{value / 1000:g}k" if value >= 1000 else f"{value:g}"
    return words.replace("-", "−")


def signed_number(value: float) -> str:
    """Return a tick's figure with its sign; zero has none."""
    return f"+{number(value)}" if value > 0 else number(value)


def frame(x: Axis, y: Axis, x_words: str, y_words: str, *, is_small: bool = False) -> str:
    """Return grid, ticks and words of two axes; `y` runs upwards; a small one has no words."""
    parts = []
    for value in y.ticks(4 if is_small else 6):
        here = y.at(value)
        parts.append(line(x.start, here, x.end, here))
        parts.append(soft(x.start - 6, here + 4, number(value), "end"))
    for value in x.ticks(4 if is_small else 8):
        here = x.at(value)
        parts.append(line(here, y.start, here, y.start + 4))
        parts.append(soft(here, y.start + 18, number(value), "middle"))
    if is_small:
        return "".join(parts)
    middle = (x.start + x.end) / 2
    parts.append(soft(middle, y.start + 36, x_words, "middle"))
    parts.append(upright(x.start - 40, (y.start + y.end) / 2, y_words))
    return "".join(parts)


def legend(marks: Sequence[SetMark], *, top: float, has_lines: bool = False) -> tuple[str, float]:
    """Return the sets' marks with their words in rows, and where the last row ends."""
    parts, x, y = [], 0.0, top + 10
    for place, each in enumerate(marks):
        sign = 34 if has_lines else 16
        width = sign + letters_wide(each.words, SMALL) + 22
        if x and x + width > WIDTH:
            x, y = 0.0, y + _LEGEND_ROW
        if has_lines:
            dashes = DASHES[place % len(DASHES)]
            parts.append(
                line(x, y - 4, x + 28, y - 4, colour=each.colour, width=1.8, dashes=dashes)
            )
        parts.append(mark(each.shape, x + sign / 2 - 3, y - 4, each.colour, radius=4.5))
        parts.append(soft(x + sign, y, each.words))
        x += width
    return "".join(parts), y + 10


def panels(
    count: int, across: int, gap: float, height: float
) -> Iterator[tuple[float, float, float]]:
    """Yield left edge, top and width of small panels, row by row."""
    width = (WIDTH - gap * (across - 1)) / across
    for place in range(count):
        row, column = divmod(place, across)
        yield column * (width + gap), row * height, width


def _round_step(rough: float) -> float:
    if rough <= 0:
        return 1.0
    tens = 10.0 ** math.floor(math.log10(rough))
    return next(base * tens for base in (1, 2, 5, 10) if base * tens >= rough * (1 - 1e-9))
