"""How a recording's samples become pascal, and the words that say how that is known."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from ratings.errors import MeasurementError
from ratings.recordings.calibration import calibration_from_tone, compare_calibrations
from ratings.recordings.opening import open_recording

_HIGHEST_PA = 1e6


@dataclass(frozen=True, slots=True)
class Calibration:
    """Pascal per stored 1.0 of every channel, None where unknown, and where it comes from."""

    pa_per_full_scale: tuple[float | None, ...]
    words: str


def calibration_of(
    channels: int,
    own: Sequence[float | None],
    factor: float | None = None,
    tone: Path | None = None,
    tone_after: Path | None = None,
    tone_db: float = 94.0,
) -> Calibration:
    """Decide on the calibration of a recording.

    Parameters
    ----------
    own
        What the file itself says, one for each channel.
    factor
        The same for every channel; stands above what the file says.
    tone, tone_after
        Recordings of a calibrator before and after the runs: of one channel, which then counts
        for every channel, or of as many channels as the recording.
    tone_db
        The calibrator's level re 20 uPa.

    Raises
    ------
    MeasurementError
        For a factor that cannot be, or tones before and after that do not agree.
    RecordingError
        When a tone's file cannot be used.
    """
    if factor is not None:
        if not 0 < factor < _HIGHEST_PA:
            raise MeasurementError(
                f"{factor:g} pascal per full scale cannot be.",
                "Give a positive number, such as 20.",
            )
        return Calibration((factor,) * channels, f"{factor:g} Pa per full scale, given")
    if tone is None:
        known = sum(each is not None for each in own)
        if not known:
            return Calibration((None,) * channels, "not calibrated")
        words = "pascal by the file's own units"
        return Calibration(
            tuple(own), words if known == channels else f"{words}, {known} of {channels} channels"
        )
    return _from_tones(channels, tone, tone_after, tone_db)


def _from_tones(channels: int, tone: Path, tone_after: Path | None, tone_db: float) -> Calibration:
    with open_recording(tone) as recording:
        on = recording.channels
    if on not in (1, channels):
        raise MeasurementError(
            f"The tone was recorded on {on} channels and the run on {channels}.",
            "Give a tone on one channel for all, or one on as many channels as the run.",
        )
    factors: list[float] = []
    apart_db: list[float] = []
    for channel in range(on):
        before = calibration_from_tone(tone, channel, tone_db)
        if tone_after is None:
            factors.append(before.pa_per_full_scale)
            continue
        pair = compare_calibrations(before, calibration_from_tone(tone_after, channel, tone_db))
        factors.append(pair.pa_per_full_scale)
        apart_db.append(pair.difference_db)
    words = f"tone of {tone_db:g} dB"
    if apart_db:
        words += f" before and after, up to {max(map(abs, apart_db)):.2f} dB apart"
    else:
        words += ", before only"
    return Calibration(tuple(factors) * (channels // on), words)
