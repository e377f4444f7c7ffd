"""What is wrong with clips, in their signal or their levels, before anybody hears them."""

import math
from collections.abc import Collection, Iterable, Sequence

from ratings.acoustics.levels import LOUDEST_CABIN_DB_A, QUIETEST_CABIN_DB_A
from ratings.clips.alike import PlannedClip
from ratings.clips.equaliser import Equaliser
from ratings.clips.prepared import PreparedClip
from ratings.errors import DoubtfulClipError, RatingsError, RecordingError
from ratings.recordings.opening import shown_name
from ratings.study.constants import REFERENCE_PRESSURE_PA
from ratings.study.wording import listed

MOST_BETWEEN_SIDES_DB = 20.0
"""A-weighted, between clips of one condition: the player refuses more (our judgement)."""
MOST_EQUALISER_GAIN_DB = 20.0
"""Headphones' equalisers lift a narrow dip by 10 to 15 dB (our judgement)."""


def refuse_lost_signal(clips: Iterable[PlannedClip], accepted: Collection[str]) -> None:
    """Refuse clips with gaps, which come round with every loop and tell which set it is.

    Parameters
    ----------
    accepted
        First sentences of refusals that the lead has taken as they are.

    Raises
    ------
    DoubtfulClipError
        When there are any, and they are not accepted.
    """
    lost = [
        f"{shown_name(clip.source.path)} at {clip.lost_s[0]:.2f} s" for clip in clips if clip.lost_s
    ]
    if not lost:
        return
    where = listed(lost[:3])
    rest = f", and {len(lost) - 3} more" if len(lost) > 3 else ""
    happened = f"The signal is lost within the clip: {where}{rest}."
    if happened not in accepted:
        raise DoubtfulClipError(
            happened,
            "The gap comes round with every loop and tells the set. Choose another run, or one "
            "trimmed to what is whole.",
        )


def refuse_doubtful_levels(
    clips: Sequence[PreparedClip], equaliser: Equaliser | None, accepted: Collection[str]
) -> None:
    """Refuse what no player would play, and what the lead has to confirm first.

    Parameters
    ----------
    accepted
        First sentences of refusals that the lead has taken as they are.

    Raises
    ------
    RecordingError
        When clips of one condition are too far apart.
    DoubtfulClipError
        When levels or an equaliser are implausible and not accepted.
    """
    for problem in _problems(clips, equaliser):
        if problem.what_happened not in accepted:
            raise problem


def _problems(clips: Sequence[PreparedClip], equaliser: Equaliser | None) -> Iterable[RatingsError]:
    for condition_id in dict.fromkeys(clip.recording.condition_id for clip in clips):
        here = [clip for clip in clips if clip.recording.condition_id == condition_id]
        loudest, quietest = max(here, key=_leq_db), min(here, key=_leq_db)
        apart_db = _leq_db(loudest) - _leq_db(quietest)
        if apart_db > MOST_BETWEEN_SIDES_DB:
            yield RecordingError(
                f"{shown_name(loudest.recording.path)} is {apart_db:.0f} dB louder than "
                f"{shown_name(quietest.recording.path)} in the same condition.",
                f"More than {MOST_BETWEEN_SIDES_DB:.0f} dB is not played. A calibration is "
                "probably wrong by a factor, such as kPa for Pa. Nothing was made.",
            )
    odd = [
        clip for clip in clips if not QUIETEST_CABIN_DB_A <= _level_db_a(clip) <= LOUDEST_CABIN_DB_A
    ]
    if odd:
        worst = max(odd, key=lambda clip: abs(_level_db_a(clip) - 70.0))
        yield DoubtfulClipError(
            f"{shown_name(worst.recording.path)} has {_level_db_a(worst):.0f} dB(A): cabins have "
            f"{QUIETEST_CABIN_DB_A:.0f} to {LOUDEST_CABIN_DB_A:.0f}.",
            "Check the calibration; accept it only if the cabin really was so.",
        )
    if equaliser is not None and equaliser.highest_gain_db > MOST_EQUALISER_GAIN_DB:
        yield DoubtfulClipError(
            f"The equaliser lifts by {equaliser.highest_gain_db:.0f} dB at most.",
            f"More than {MOST_EQUALISER_GAIN_DB:.0f} dB is unusual. Check the file; accept it only "
            "if the headphones need it.",
        )


def _leq_db(clip: PreparedClip) -> float:
    return clip.facts.leq_a_db_re_full_scale


def _level_db_a(clip: PreparedClip) -> float:
    if clip.pa_per_full_scale is None:
        # Nobody knows: as plausible as any.
        return QUIETEST_CABIN_DB_A
    return _leq_db(clip) + 20 * math.log10(clip.pa_per_full_scale / REFERENCE_PRESSURE_PA)
