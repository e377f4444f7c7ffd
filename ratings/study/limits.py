"""What a difference of ratings means: the limits by which a study is judged."""

import math
from dataclasses import astuple, dataclass

from ratings.errors import RatingsError


@dataclass(frozen=True, slots=True)
class Limits:
    """From which difference on it matters, in points of the scale.

    Attributes
    ----------
    small
        Heard by a trained evaluator back to back only.
    matters
        A trained evaluator is sure, a critical customer may notice: what differs by less is too
        small to matter.
    customer
        An ordinary customer notices.
    drift_points
        A control that is rated so much apart within a day makes the day doubtful.

    Raises
    ------
    RatingsError
        For limits that are no numbers above 0, or not in this order.

    Notes
    -----
    Common practice, no source: companies differ, so that each study has its own.
    """

    small: float = 0.25
    matters: float = 0.5
    customer: float = 1.0
    drift_points: float = 0.5

    def __post_init__(self) -> None:
        for value in astuple(self):
            is_number = isinstance(value, int | float) and not isinstance(value, bool)
            if not (is_number and math.isfinite(value) and value > 0):
                raise RatingsError(
                    f"{value} cannot be the size of a difference.",
                    "Give each limit as a number of points above 0, such as 0.5.",
                )
        if not self.small < self.matters < self.customer:
            raise RatingsError(
                f"The limits {self.small:g}, {self.matters:g} and {self.customer:g} do not rise.",
                "Give the small difference first, then the one that matters, then the one that a "
                "customer notices.",
            )


#: What each limit is called where it is told or changed.
LIMIT_NAMES = {
    "small": "small difference",
    "matters": "difference that matters",
    "customer": "difference that a customer notices",
    "drift_points": "control drift that is told",
}
