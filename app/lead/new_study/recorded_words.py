"""How the recordings of a new study were made, in a few words."""

from ratings.intake.how_recorded import HowRecorded

_LEVELS = {
    "own": "in pascal",
    "factor": "{0:g} Pa",
    "tones": "level by tone",
    "unknown": "level unknown",
}


def summary_words(how: HowRecorded, *, says_pascal: bool) -> str:
    """Say it short enough for a button, such as ``ears 1 and 2, 20 Pa, equaliser``."""
    ears = " and ".join(str(ear + 1) for ear in how.ears)
    is_own = how.calibration.kind == "unknown" and says_pascal
    is_missing = how.calibration.kind == "factor" and not how.calibration.pa_per_full_scale
    level = "Pa not given" if is_missing else _LEVELS["own" if is_own else how.calibration.kind]
    parts = [
        f"{'ear' if len(how.ears) == 1 else 'ears'} {ears}",
        level.format(how.calibration.pa_per_full_scale),
    ]
    if how.equaliser is not None:
        parts.append("equaliser")
    if how.speeds:
        parts.append("speed")
    return ", ".join(parts)
