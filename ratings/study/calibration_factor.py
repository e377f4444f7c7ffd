"""The factor that turns samples into sound pressure, and the values it may have."""

import math

from ratings.errors import MeasurementError


def refuse_implausible_factor(pa_per_full_scale: float, highest: float = math.inf) -> None:
    """Refuse a factor that is not a number above 0 and below `highest`.

    Raises
    ------
    MeasurementError
    """
    if not 0 < pa_per_full_scale < highest:
        raise MeasurementError(
            f"{pa_per_full_scale:g} is not a valid Pa per full scale.",
            "Give a positive number, such as 20.",
        )
