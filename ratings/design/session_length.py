"""How long a session takes, and where its breaks belong."""

import math

#: Work without a break, in seconds. 20-30 min, then a break: ITU-R BS.1116 (second hand).
LONGEST_STRETCH_S = 20 * 60.0

_EXPECTATION_WEIGHS = 3


def seconds_per_pair(attribute_count: int, clip_s: float) -> float:
    """Estimate the time for one pair in seconds before anybody has been timed.

    Two hearings of each side and some ten seconds of thought per attribute: our judgement.
    """
    return 4 * clip_s + 10.0 * attribute_count


def break_positions(pair_count: int, pair_s: float) -> tuple[int, ...]:
    """Return after how many pairs a break is proposed, so that no stretch is too long.

    Parameters
    ----------
    pair_count
        Pairs in the session.
    pair_s
        Expected seconds per pair.
    """
    stretches = math.ceil(pair_count * pair_s / LONGEST_STRETCH_S)
    stretches = max(1, min(stretches, pair_count))
    return tuple(round(pair_count * part / stretches) for part in range(1, stretches))


def seconds_left(pair_durations_s: list[float], pairs_left: int, expected_pair_s: float) -> float:
    """Estimate the remaining time in seconds from the pairs rated so far.

    The median of the person's own pairs, so that one long pause does not count; the general
    expectation weighs as much as three pairs, so that the figure does not jump.
    """
    rated = len(pair_durations_s)
    ordered = sorted(pair_durations_s)
    own_s = ordered[rated // 2] if rated else expected_pair_s
    pair_s = (rated * own_s + _EXPECTATION_WEIGHS * expected_pair_s) / (rated + _EXPECTATION_WEIGHS)
    return pairs_left * pair_s
