"""What the files of a study say of their ears, their calibration, the headphones and the speed.

They may be read one by one while their lead goes on: what has not been read yet is said to be.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from ratings.design.study_plan import calibration_shortcoming
from ratings.errors import DesignError, RatingsError, RecordingError
from ratings.intake.how_recorded import HowRecorded, ToneFactor, unheard_ear
from ratings.study.wording import counted

if TYPE_CHECKING:
    from ratings.clips.equaliser import Equaliser
    from ratings.recordings.read import SoundFacts
    from ratings.study.speed_trace import SpeedTrace


@dataclass(frozen=True, slots=True)
class KnownFiles:
    """What each file of a draft says, or why it cannot be used; None while it is being read.

    Attributes
    ----------
    recordings
        By path, see `usable_facts`.
    tones
        Of the calibrator, see `ratings.intake.how_recorded.factor_by_tones`.
    equaliser
        See `ratings.clips.equaliser.read_equaliser`.
    speeds
        By path, see `ratings.recordings.speed.trace_files.read_speed_trace`.
    """

    recordings: Mapping[Path, SoundFacts | RatingsError | None]
    tones: ToneFactor | RatingsError | None = None
    equaliser: Equaliser | RatingsError | None = None
    speeds: Mapping[Path, SpeedTrace | RatingsError | None] = field(default_factory=dict)

    @property
    def tone_factor(self) -> ToneFactor | None:
        """What the tones say; None when there are none, or they were not read yet."""
        return self.tones if isinstance(self.tones, ToneFactor) else None

    def facts(self, path: Path) -> SoundFacts | None:
        """Give the facts of a recording; None while it is being read and when it is of no use."""
        known = self.recordings.get(path)
        return None if isinstance(known, RatingsError) else known

    def problem(self, path: Path, how: HowRecorded) -> RatingsError | None:
        """Say why a recording cannot be used; None when it can, and while it is being read."""
        known = self.recordings.get(path)
        if known is None or isinstance(known, RatingsError):
            return known
        return unheard_ear(known, how)


def usable_facts(path: Path) -> SoundFacts:
    """Find the facts of a file from which a clip can be cut.

    Raises
    ------
    RecordingError
        When it cannot be read or is too short to be judged.
    """
    # Inside, so that a page opens without the libraries for sound files.
    from ratings.clips.windows import SHORTEST_COMMON_WINDOW_S
    from ratings.recordings.read import describe

    facts = describe(path)
    if facts.duration_s < SHORTEST_COMMON_WINDOW_S:
        raise RecordingError(
            f"'{facts.name}' lasts {facts.duration_s:.2f} s, too short to be judged by ear.",
            f"Choose a run of at least {SHORTEST_COMMON_WINDOW_S:g} s; 8 s are better.",
        )
    return facts


def says_pascal(facts: Collection[SoundFacts]) -> bool:
    """Whether every recording says its pascal by itself."""
    return bool(facts) and all(any(each.pa_per_full_scale) for each in facts)


def recorded_shortcoming(
    how: HowRecorded, files: KnownFiles, facts: Collection[SoundFacts]
) -> RatingsError | None:
    """Return the first thing that is missing or wrong; None when all is known.

    Parameters
    ----------
    facts
        Of the recordings, one for each that has been read.
    """
    traces = (_of_answer(files.speeds.get(path), "trace") for path in how.speeds)
    return (
        _of_calibration(how, files, facts)
        or (_of_answer(files.equaliser, "equaliser") if how.equaliser is not None else None)
        or next(filter(None, traces), None)
    )


def calibration_words(how: HowRecorded, files: KnownFiles, facts: Collection[SoundFacts]) -> str:
    """Say what is known of the levels; empty when nothing is."""
    if how.calibration.kind == "tones":
        if how.calibration.tone_before is None:
            return ""
        if not isinstance(files.tones, ToneFactor):
            return str(files.tones or "Being read.")
        scale = f"{files.tones.pa_per_full_scale:.4g} Pa per full scale: {files.tones.words}."
        remarks = (f"{remark[0].upper()}{remark[1:]}." for remark in files.tones.remarks)
        return " ".join((scale, *remarks))
    if says_pascal(facts):
        return "The files are in pascal by their own units."
    return ""


def equaliser_words(how: HowRecorded, files: KnownFiles) -> str:
    """Say what the equaliser is; empty when there is none."""
    known = files.equaliser
    if how.equaliser is None:
        return ""
    if known is None or isinstance(known, RatingsError):
        return str(known or "Being read.")
    rate_hz = known.sample_rate_hz
    at = "at the rate of the clips" if rate_hz is None else f"at {rate_hz / 1000:g} kHz"
    return f"{counted(len(known.taps), 'tap')} {at}, for all clips alike."


def speed_words(how: HowRecorded, files: KnownFiles, recordings: Sequence[Path]) -> str:
    """Say for how many recordings the speed is known, and what is wrong."""
    for path in how.speeds:
        if isinstance(problem := files.speeds.get(path), RatingsError):
            return str(problem)
    if not how.speeds:
        return ""
    known = sum(how.speed_of(path) is not None for path in recordings)
    names = {path.stem.casefold() for path in recordings}
    strange = [path.name for path in how.speeds if path.stem.casefold() not in names]
    words = f"Known for {known} of {counted(len(recordings), 'recording')}."
    if strange:
        return f"{words} No recording has the name of {', '.join(strange)}."
    return words


def _of_calibration(
    how: HowRecorded, files: KnownFiles, facts: Collection[SoundFacts]
) -> RatingsError | None:
    calibration = how.calibration
    if calibration.kind == "factor":
        if calibration.pa_per_full_scale:
            return None
        return DesignError(
            "How many pascal are full scale?", "Give the factor under How it was recorded."
        )
    if calibration.kind == "tones":
        if calibration.tone_before is None:
            return DesignError(
                "Which file holds the calibrator's tone?", "Choose it under How it was recorded."
            )
        return _of_answer(files.tones, "tone")
    return calibration_shortcoming([_own_factor(each, how) for each in facts])


def _of_answer(answer: object, kind: str) -> RatingsError | None:
    if answer is None:
        return DesignError(f"The {kind} is being read.", "This takes a moment for long files.")
    return answer if isinstance(answer, RatingsError) else None


def _own_factor(facts: SoundFacts, how: HowRecorded) -> float | None:
    own = facts.pa_per_full_scale
    left = how.left_channel if facts.channels > 1 else 0
    return own[left] if left < len(own) else None
