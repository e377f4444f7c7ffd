"""The gain for the recorded level, and the ceiling above which nothing is played."""

import math
from dataclasses import dataclass

from ratings.acoustics.levels import ClipLevels
from ratings.errors import PlaybackError
from ratings.study.constants import REFERENCE_PRESSURE_PA

MOST_BETWEEN_SIDES_DB = 20.0
"""A-weighted, between the sides of a pair: tyres in one cabin differ by 10 dB at most, factors that
are wrong by 1000 make 60 (our judgement)."""


START_BELOW_DB = 20.0
"""Below the output's full level as long as the true level is unknown: what everybody starts with
(our judgement)."""
MOST_LOWERED_DB = 20.0
"""Further below the recorded level, a cabin is no longer judged as a cabin (our judgement)."""
LOWEST_OUTPUT_DB, HIGHEST_OUTPUT_DB = 80.0, 135.0
"""What a headphone amplifier can give at the ear for a full-scale sine: sensitive headphones reach
about 100 dB at 1 mW, amplifiers from a thousandth of that to 100 mW and more (our judgement)."""
_LOWERING_STEP_DB = 0.5


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
    """Gain to play a clip at, whether its level is then known, and the sentence that says so."""

    linear: float
    level_true: bool
    sentence: str


def playback_gain(
    clip_pa_per_full_scale: float | None,
    output_pa_per_full_scale: float | None,
    ceiling: Ceiling,
    facts: ClipLevels,
    below_db: float = 0.0,
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
    below_db
        How far below the recorded level all clips are played, or below the output's full level
        where the recorded one is not known.

    Raises
    ------
    PlaybackError
        When the clip would exceed full scale, or a level at the ear that is known exceeds the
        ceiling. Nothing is ever limited instead.
    """
    _check_calibration("The clip's", clip_pa_per_full_scale)
    _check_calibration("The output's", output_pa_per_full_scale)
    gain = _wanted_gain(clip_pa_per_full_scale, output_pa_per_full_scale, below_db)
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
    below_db: float = 0.0,
) -> float | None:
    """Return the A-weighted equivalent level at the ear re 20 uPa of a clip that is played.

    Parameters
    ----------
    clip_pa_per_full_scale, output_pa_per_full_scale, facts, below_db
        As for `playback_gain`.

    Returns
    -------
    float or None
        None when it is not known: whoever listens is then asked to set the volume by ear, so that
        a calibration of the output does not hold either.
    """
    gain = _wanted_gain(clip_pa_per_full_scale, output_pa_per_full_scale, below_db)
    if not gain.level_true or output_pa_per_full_scale is None:
        return None
    offset_db = level_at_ear_offset_db(gain.linear * output_pa_per_full_scale)
    return facts.leq_a_db_re_full_scale + offset_db


def sides_are_far_apart(a: tuple[float, ClipLevels], b: tuple[float, ClipLevels]) -> bool:
    """Tell whether two clips, each with its gain, are too far apart in A-weighted level."""
    level_a_db, level_b_db = (played_db(gain, levels) for gain, levels in (a, b))
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


def played_db(gain: float, levels: ClipLevels) -> float:
    """Return the A-weighted equivalent level of a clip after its gain, re full scale."""
    return levels.leq_a_db_re_full_scale + (20.0 * math.log10(gain) if gain > 0.0 else -math.inf)


def lowering_db(
    clip_pa_per_full_scale: float,
    output_pa_per_full_scale: float,
    ceiling: Ceiling,
    facts: ClipLevels,
) -> float:
    """Return how far below its recorded level a clip must stay to be played at all; 0 for as it is.

    In steps of half a decibel, upwards.
    """
    offset_db = level_at_ear_offset_db(clip_pa_per_full_scale)
    peak = facts.peak_full_scale * clip_pa_per_full_scale / output_pa_per_full_scale
    excess_db = max(
        0.0,
        20.0 * math.log10(peak) if peak > 0.0 else 0.0,
        facts.leq_a_db_re_full_scale + offset_db - ceiling.equivalent_db_a,
        facts.fast_max_a_db_re_full_scale + offset_db - ceiling.fast_maximum_db_a,
    )
    return math.ceil(excess_db / _LOWERING_STEP_DB) * _LOWERING_STEP_DB


def check_output_level(full_scale_sine_db: float) -> None:
    """Refuse a level of a full-scale sine at the ear that no headphone amplifier gives."""
    if not LOWEST_OUTPUT_DB <= full_scale_sine_db <= HIGHEST_OUTPUT_DB:
        raise PlaybackError(
            f"{full_scale_sine_db:g} dB at the ear is not what headphones give for a full-scale "
            "sine.",
            f"{LOWEST_OUTPUT_DB:.0f} to {HIGHEST_OUTPUT_DB:.0f} dB are possible. Measure again, or "
            "take the figure back.",
        )


def below_in_words(below_db: float) -> str:
    """Say how far below the recorded level something is played."""
    if below_db == 0.0:
        return "At recorded level."
    return f"{below_db:.1f} dB below the recorded level."


def _wanted_gain(clip_pa: float | None, output_pa: float | None, below_db: float) -> Gain:
    below = 10.0 ** (-below_db / 20.0)
    if clip_pa is not None and output_pa is not None:
        return Gain(clip_pa / output_pa * below, True, below_in_words(below_db))
    # Which calibration is missing is said in the brief; beside a pair there is room for this only.
    return Gain(below, False, "Same gain for both sides; true level unknown.")


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
            "This pair is not played: it would exceed full scale.",
            "Nothing is limited silently. Go back to the level, where all clips can be lowered "
            "alike.",
        )


def _check_ceiling(offset_db: float, ceiling: Ceiling, facts: ClipLevels) -> None:
    checks = (
        (facts.leq_a_db_re_full_scale, ceiling.equivalent_db_a),
        (facts.fast_max_a_db_re_full_scale, ceiling.fast_maximum_db_a),
    )
    if not all(level_db + offset_db <= highest_db_a for level_db, highest_db_a in checks):
        raise PlaybackError(
            "This pair is not played: it would be above the ceiling of "
            f"{ceiling.equivalent_db_a:.0f} dB(A) equivalent and "
            f"{ceiling.fast_maximum_db_a:.0f} dB(A) fast maximum at the ear.",
            "Go back to the level, where all clips can be lowered alike.",
        )
