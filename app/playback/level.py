"""Level-true gain, and the ceiling above which nothing is played."""

import math
from dataclasses import dataclass

from ratings.acoustics.levels import ClipLevels
from ratings.errors import PlaybackError

REFERENCE_PRESSURE_PA = 20e-6
MOST_BETWEEN_SIDES_DB = 20.0
"""A-weighted, between the sides of a pair: tyres in one cabin differ by 10 dB at most, factors that
are wrong by 1000 make 60 (our judgement)."""


@dataclass(frozen=True, slots=True)
class Ceiling:
    """Loudest sound that is played, at the ear; a setting. The defaults are our judgement.

    Attributes
    ----------
    equivalent_db_a
        A-weighted equivalent level over the clip.
    fast_maximum_db_a
        A-weighted maximum with the time weighting F.
    """

    equivalent_db_a: float = 85.0
    fast_maximum_db_a: float = 95.0


@dataclass(frozen=True, slots=True)
class Gain:
    """Gain to play a clip at, whether it is level-true, and the sentence that says so."""

    linear: float
    level_true: bool
    sentence: str


def playback_gain(
    clip_pa_per_full_scale: float | None,
    output_pa_per_full_scale: float | None,
    ceiling: Ceiling,
    facts: ClipLevels,
) -> Gain:
    """Gain that plays a clip as loud as it was recorded, when both calibrations are known.

    Parameters
    ----------
    clip_pa_per_full_scale
        Sound pressure in Pa that full scale stands for in the clip; None when unknown.
    output_pa_per_full_scale
        Sound pressure in Pa at the ear that full scale makes at the output; None when unknown.
    ceiling
        Highest levels allowed at the ear.
    facts
        Levels of the clip, measured from the samples that are played.

    Raises
    ------
    PlaybackError
        When the clip would exceed full scale, or a level at the ear that is known exceeds the
        ceiling. Nothing is ever limited instead.
    """
    _check_calibration("The clip's", clip_pa_per_full_scale)
    _check_calibration("The output's", output_pa_per_full_scale)
    gain = _wanted_gain(clip_pa_per_full_scale, output_pa_per_full_scale)
    _check_full_scale(facts.peak_full_scale * gain.linear)
    if output_pa_per_full_scale is not None:
        # Without the clip's calibration the level is not true, but it is known and can do harm.
        offset_db = level_at_ear_offset_db(gain.linear * output_pa_per_full_scale)
        _check_ceiling(offset_db, ceiling, facts)
    return gain


def level_at_ear_db_a(
    clip_pa_per_full_scale: float | None,
    output_pa_per_full_scale: float | None,
    facts: ClipLevels,
) -> float | None:
    """Return the A-weighted equivalent level at the ear re 20 uPa of a clip that is played.

    Parameters
    ----------
    clip_pa_per_full_scale, output_pa_per_full_scale, facts
        As for `playback_gain`.

    Returns
    -------
    float or None
        None when it is not level-true: whoever listens is then asked to set the volume by ear, so
        that a calibration of the output does not hold either.
    """
    gain = _wanted_gain(clip_pa_per_full_scale, output_pa_per_full_scale)
    if not gain.level_true or output_pa_per_full_scale is None:
        return None
    offset_db = level_at_ear_offset_db(gain.linear * output_pa_per_full_scale)
    return facts.leq_a_db_re_full_scale + offset_db


def sides_are_far_apart(a: tuple[float, ClipLevels], b: tuple[float, ClipLevels]) -> bool:
    """Tell whether two clips, each with its gain, are too far apart in A-weighted level."""
    level_a_db, level_b_db = (_played_db(gain, levels) for gain, levels in (a, b))
    if level_a_db == level_b_db:
        return False
    return not abs(level_a_db - level_b_db) <= MOST_BETWEEN_SIDES_DB


def far_apart() -> PlaybackError:
    """Return why a pair with sides far apart is not played; no figure, and no side, is named."""
    return PlaybackError(
        f"This pair is not played: its sides are more than {MOST_BETWEEN_SIDES_DB:.0f} dB apart.",
        "Your scores are safe. Tell the person in charge of the study: a recording is probably "
        "calibrated wrongly.",
    )


def level_at_ear_offset_db(pa_per_full_scale: float) -> float:
    """Decibels to add to a level re full scale to get the sound pressure level re 20 uPa."""
    return 20.0 * math.log10(pa_per_full_scale / REFERENCE_PRESSURE_PA)


def _played_db(gain: float, levels: ClipLevels) -> float:
    return levels.leq_a_db_re_full_scale + (20.0 * math.log10(gain) if gain > 0.0 else -math.inf)


def _wanted_gain(clip_pa: float | None, output_pa: float | None) -> Gain:
    if clip_pa is not None and output_pa is not None:
        return Gain(clip_pa / output_pa, True, "Level-true: played as loud as it was recorded.")
    if clip_pa is None and output_pa is None:
        missing = "neither the recording nor the output is calibrated"
    elif clip_pa is None:
        missing = "the recording is not calibrated"
    else:
        missing = "the output is not calibrated"
    return Gain(1.0, False, f"Not level-true: {missing}.")


def _check_calibration(whose: str, pa_per_full_scale: float | None) -> None:
    if pa_per_full_scale is None:
        return
    if not math.isfinite(pa_per_full_scale) or pa_per_full_scale <= 0.0:
        raise PlaybackError(
            f"{whose} calibration of {pa_per_full_scale} Pa per full scale is not a pressure.",
            "Enter the calibration again, or leave it empty when it is not known.",
        )


def _check_full_scale(peak: float) -> None:
    # No figure: it would tell an evaluator which of two clips is the louder one.
    if not peak <= 1.0:
        raise PlaybackError(
            "This pair is not played: at its true level it would exceed full scale.",
            "Nothing is limited silently. Check the measured level, or turn the amplifier up and "
            "measure again.",
        )


def _check_ceiling(offset_db: float, ceiling: Ceiling, facts: ClipLevels) -> None:
    checks = (
        (facts.leq_a_db_re_full_scale, ceiling.equivalent_db_a),
        (facts.fast_max_a_db_re_full_scale, ceiling.fast_maximum_db_a),
    )
    if not all(level_db + offset_db <= highest_db_a for level_db, highest_db_a in checks):
        raise PlaybackError(
            "This pair is not played: at its true level it would be above the ceiling of "
            f"{ceiling.equivalent_db_a:.0f} dB(A) equivalent and "
            f"{ceiling.fast_maximum_db_a:.0f} dB(A) fast maximum at the ear.",
            "Check the measured level, or tell the person in charge of the study.",
        )
