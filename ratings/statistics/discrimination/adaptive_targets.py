"""Where an adaptive track of levels comes to rest."""

import math


def up_down_target(wrong_to_go_up: int, right_to_go_down: int) -> float:
    """Return the share of right answers at which up and down are equally likely.

    Parameters
    ----------
    wrong_to_go_up, right_to_go_down
        Answers in a row before the level changes; one of them is 1.

    Returns
    -------
    float
        NaN when neither is 1, for which there is no closed form.

    References
    ----------
    Levitt H (1971) J. Acoust. Soc. Am. 49:467-477, table I: 0.707 for two right, 0.794 for three.
    """
    if wrong_to_go_up == 1:
        return float(0.5 ** (1 / right_to_go_down))
    if right_to_go_down == 1:
        return float(1 - 0.5 ** (1 / wrong_to_go_up))
    return math.nan
