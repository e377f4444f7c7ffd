"""How the recordings of a new study were made, as far as their lead has said."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from math import log10, prod
from pathlib import Path
from typing import TYPE_CHECKING

from ratings.errors import DesignError, MeasurementError, RatingsError, RecordingError
from ratings.intake.run_draft import CalibrationDraft

if TYPE_CHECKING:
    from ratings.recordings.calibration import ToneCalibration
    from ratings.recordings.read import SoundFacts

#: By these endings a trace of speed is told from a recording when both are dropped.
SPEED_ENDINGS = (".csv", ".gpx", ".nmea")

MOST_BETWEEN_EARS_DB = 0.5
"""A clip has one scale for both ears, so that they may differ by no more (own choice: as much as
calibrations before and after may)."""

_LEVEL_WORDS = {
    "own": "in pascal",
    "factor": "{0:g} Pa",
    "tones": "level by tone",
    "unknown": "level unknown",
}


@dataclass(frozen=True, slots=True)
class HowRecorded:
    """What holds for all files of a study.

    Attributes
    ----------
    left_channel, right_channel
        Channels of the two ears, from 0; a mono file is heard in both whatever stands here.
    equaliser
        File with the taps of the headphones' equaliser; None for none.
    speeds
        Files with traces of speed; each belongs to the recording of the same name.
    """

    left_channel: int = 0
    right_channel: int = 1
    calibration: CalibrationDraft = field(default=CalibrationDraft())
    equaliser: Path | None = None
    speeds: tuple[Path, ...] = ()

    @property
    def ears(self) -> tuple[int, ...]:
        """The channels that are heard, each once."""
        return tuple(dict.fromkeys((self.left_channel, self.right_channel)))

    def summary(self, *, says_pascal: bool) -> str:
        """Say it short enough for a button, such as ``ears 1 and 2, 20 Pa, equaliser``.

        Parameters
        ----------
        says_pascal
            Whether the recordings are in pascal by themselves.
        """
        level = self.calibration
        kind = "own" if level.kind == "unknown" and says_pascal else level.kind
        is_missing = kind == "factor" and not level.pa_per_full_scale
        words = "Pa not given" if is_missing else _LEVEL_WORDS[kind]
        parts = [
            f"{'ear' if len(self.ears) == 1 else 'ears'} "
            + " and ".join(str(ear + 1) for ear in self.ears),
            words.format(level.pa_per_full_scale),
        ]
        if self.equaliser is not None:
            parts.append("equaliser")
        if self.speeds:
            parts.append("speed")
        return ", ".join(parts)

    def with_speeds(self, paths: Iterable[Path]) -> HowRecorded:
        """Add traces of speed to those that are there."""
        added = (path.absolute() for path in paths)
        return replace(self, speeds=tuple(dict.fromkeys((*self.speeds, *added))))

    def speed_of(self, recording: Path) -> Path | None:
        """Give the trace of a recording; None when there is none of its name.

        Runs of several sets may have one name in folders of their own: a trace that lies beside
        the recording is the right one.
        """
        return next(iter(self._fitting(recording)), None)

    def unclear_speed(self, recordings: Sequence[Path]) -> RatingsError | None:
        """Say which trace may be another recording's; None when each has its own."""
        for recording in recordings:
            fitting = self._fitting(recording)
            if len(fitting) > 1:
                return DesignError(
                    f"{len(fitting)} speed traces have the name of {recording.name}.",
                    "Keep the right one beside its recording, and take the others out.",
                )
        times = Counter(filter(None, map(self.speed_of, recordings)))
        for trace, count in times.items():
            if count > 1:
                return DesignError(
                    f"{count} recordings have the name of the speed trace {trace.name}.",
                    "Lay each trace beside its recording, or give the files names of their own.",
                )
        return None

    def _fitting(self, recording: Path) -> list[Path]:
        name = recording.stem.casefold()
        named = [path for path in self.speeds if path.stem.casefold() == name]
        return [path for path in named if path.parent == recording.parent] or named


@dataclass(frozen=True, slots=True)
class ToneFactor:
    """What the calibrator's tones say of the ears.

    Attributes
    ----------
    pa_per_full_scale
        Pascal of a sample of 1.0, the mean of the ears on the scale of decibels.
    words
        How it is known.
    remarks
        What is odd about the tones.
    """

    pa_per_full_scale: float
    words: str
    remarks: tuple[str, ...] = ()


def factor_by_tones(how: CalibrationDraft, ears: Sequence[int]) -> ToneFactor:
    """Read the tones on the channels of the ears.

    Raises
    ------
    RecordingError
        When a file cannot be used.
    MeasurementError
        When there is no tone, before and after do not agree, or the ears are too far apart.
    """
    from ratings.recordings.calibration import compare_calibrations

    if how.tone_before is None:
        raise MeasurementError("There is no tone to calibrate by.", "Choose its file.")
    factors: list[float] = []
    apart_db: list[float] = []
    remarks: list[str] = []
    for ear in ears:
        before = _tone(how.tone_before, ear, how.tone_db)
        remarks += before.remarks
        if how.tone_after is None:
            factors.append(before.pa_per_full_scale)
            continue
        pair = compare_calibrations(before, _tone(how.tone_after, ear, how.tone_db))
        factors.append(pair.pa_per_full_scale)
        apart_db.append(abs(pair.difference_db))
    if len(ears) > 1 and _is_mono(how.tone_before):
        remarks.append("the tone was recorded on one channel, and stands for both ears")
    _refuse_ears_apart(factors)
    words = f"tone of {how.tone_db:g} dB" + (
        f" before and after, up to {max(apart_db):.2f} dB apart" if apart_db else ", before only"
    )
    return ToneFactor(prod(factors) ** (1 / len(factors)), words, tuple(dict.fromkeys(remarks)))


def ears_in(facts: SoundFacts, how: HowRecorded) -> tuple[int, ...]:
    """Give the channels of a file that are heard, from 0, whether it has them or not."""
    return how.ears if facts.channels > 1 else (0,)


def unheard_ear(facts: SoundFacts, how: HowRecorded) -> RatingsError | None:
    """Say why an ear would hear nothing of a file; None when both hear."""
    for ear in ears_in(facts, how):
        if ear >= facts.channels:
            return RecordingError(
                f"'{facts.name}' has no channel {ear + 1}; it has {facts.channels}.",
                "Choose other channels for the ears under How it was recorded, or another file.",
            )
        if facts.by_channel[ear].is_silent:
            return RecordingError(
                f"Channel {ear + 1} of '{facts.name}' is silent from start to end.",
                "Choose another run, or other channels under How it was recorded.",
            )
    return None


def _refuse_ears_apart(factors: Sequence[float]) -> None:
    between_db = 20 * log10(max(factors) / min(factors))
    if between_db > MOST_BETWEEN_EARS_DB:
        raise MeasurementError(
            f"By their tones the two ears are {between_db:.1f} dB apart, and a clip has one scale "
            "for both.",
            "Choose one channel for both ears, or export the recordings in pascal.",
        )


def _tone(path: Path, ear: int, tone_db: float) -> ToneCalibration:
    from ratings.recordings.calibration import calibration_from_tone

    # A calibrator recorded alone stands for the one microphone that there is.
    return calibration_from_tone(path, 0 if _is_mono(path) else ear, tone_db)


def _is_mono(path: Path) -> bool:
    from ratings.recordings.opening import open_recording

    with open_recording(path) as recording:
        return recording.channels == 1
