"""How each set is told from the others in a plot: a mark, a line, a colour, and its code."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from ratings.reports.colours import Theme

MarkShape = Literal["disc", "square", "triangle", "diamond", "star", "cross", "pentagon", "drop"]

LineStyle = Literal["solid", "dashed", "dotted", "dash-dotted"]

_SHAPES: tuple[MarkShape, ...] = (
    "disc",
    "square",
    "triangle",
    "diamond",
    "star",
    "cross",
    "pentagon",
    "drop",
)
_LINES: tuple[LineStyle, ...] = ("solid", "dashed", "dotted", "dash-dotted")
#: Each at 4.5:1 or more on its panel, and told apart without red against green.
_LIGHT = ("#23221F", "#1F5A96", "#A04A00", "#7A3B69", "#00695C", "#B0303C", "#4A4E9E", "#6B5D00")
_DARK = ("#ECEAE6", "#7FB4EA", "#F0AE55", "#D59AC6", "#6CCFC0", "#F2939B", "#AEB1F5", "#D8C75E")


@dataclass(frozen=True, slots=True)
class SetMark:
    """A shape, a line, a colour and the words beside them."""

    code: str
    shape: MarkShape
    colour: str
    is_control: bool
    line: LineStyle = "solid"

    @property
    def words(self) -> str:
        """The code, and that it is the control."""
        return f"{self.code}, control" if self.is_control else self.code


def set_marks(codes: Sequence[str], control: str, theme: Theme) -> dict[str, SetMark]:
    """Give every set its mark; the control has the first one.

    From the ninth set on the shapes come back with another line, from the thirty-third with
    another colour.

    Parameters
    ----------
    codes
        All sets of the study, so that a set keeps its mark whatever is shown.
    """
    colours = _LIGHT if theme.name == "light" else _DARK
    order = [control, *(code for code in codes if code != control)]
    return {
        code: SetMark(
            code,
            _SHAPES[place % 8],
            colours[(place + place // 32) % 8],
            code == control,
            _LINES[place // 8 % 4],
        )
        for place, code in enumerate(order)
    }
