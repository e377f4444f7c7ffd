"""What the files say that tell how a study was recorded: tones, equaliser, speed traces."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.lead.new_study.look_ups import LookUps
from ratings.design.study_plan import calibration_shortcoming
from ratings.errors import DesignError, RatingsError
from ratings.intake.how_recorded import HowRecorded, ToneFactor, factor_by_tones
from ratings.study.wording import counted

if TYPE_CHECKING:
    from ratings.recordings.read import SoundFacts


class RecordedReader(QObject):
    """Reads what `HowRecorded` names, and says what is missing from it.

    Signals
    -------
    read
        One more file is known.
    """

    read = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._look_ups = LookUps(self)
        self._look_ups.answered.connect(self.read)

    def begin(self, how: HowRecorded) -> None:
        """Begin to read what is not known yet."""
        calibration, ears = how.calibration, how.ears
        if calibration.kind == "tones" and calibration.tone_before is not None:
            work = partial(factor_by_tones, calibration, ears)
            self._look_ups.look_up((calibration, ears), work)
        if how.equaliser is not None:
            self._look_ups.look_up(how.equaliser, partial(_equaliser_words, how.equaliser))
        for speed in how.speeds:
            self._look_ups.look_up(speed, partial(_speed_words, speed))

    def tone_factor(self, how: HowRecorded) -> ToneFactor | None:
        """Give what the tones say; None when there are none, or they were not read yet."""
        if how.calibration.kind != "tones":
            return None
        answer = self._look_ups.answer((how.calibration, how.ears))
        return answer if isinstance(answer, ToneFactor) else None

    def shortcoming(self, how: HowRecorded, facts: Sequence[SoundFacts]) -> RatingsError | None:
        """Return the first thing that is missing or wrong; None when all is known."""
        return (
            self._of_calibration(how, facts)
            or self._of_file(how.equaliser, "equaliser")
            or next(
                (problem for path in how.speeds if (problem := self._of_file(path, "trace"))),
                None,
            )
        )

    def calibration_words(self, how: HowRecorded, facts: Sequence[SoundFacts]) -> str:
        """Say what is known of the levels."""
        if how.calibration.kind == "tones":
            factor = self.tone_factor(how)
            problem = self._look_ups.problem((how.calibration, how.ears))
            if how.calibration.tone_before is None:
                return ""
            if factor is None:
                return str(problem or "Being read.")
            scale = f"{factor.pa_per_full_scale:.4g} Pa per full scale: {factor.words}."
            return " ".join(
                (scale, *(f"{remark[0].upper()}{remark[1:]}." for remark in factor.remarks))
            )
        if says_pascal(facts):
            return "The files are in pascal by their own units."
        return ""

    def equaliser_words(self, how: HowRecorded) -> str:
        """Say what the equaliser is."""
        return "" if how.equaliser is None else self._words(how.equaliser)

    def speed_words(self, how: HowRecorded, recordings: Sequence[Path]) -> str:
        """Say for how many recordings the speed is known, and what is wrong."""
        problems = [str(p) for path in how.speeds if (p := self._look_ups.problem(path))]
        if problems:
            return problems[0]
        if not how.speeds:
            return ""
        known = sum(how.speed_of(path) is not None for path in recordings)
        names = {path.stem.casefold() for path in recordings}
        strange = [path.name for path in how.speeds if path.stem.casefold() not in names]
        words = f"Known for {known} of {counted(len(recordings), 'recording')}."
        if strange:
            return f"{words} No recording has the name of {', '.join(strange)}."
        return words

    def _words(self, path: Path) -> str:
        problem = self._look_ups.problem(path)
        return str(problem or self._look_ups.answer(path) or "Being read.")

    def _of_calibration(self, how: HowRecorded, facts: Sequence[SoundFacts]) -> RatingsError | None:
        calibration = how.calibration
        if calibration.kind == "factor" and not calibration.pa_per_full_scale:
            return DesignError(
                "How many pascal are full scale?", "Give the factor under How it was recorded."
            )
        if calibration.kind == "tones":
            if calibration.tone_before is None:
                return DesignError(
                    "Which file holds the calibrator's tone?",
                    "Choose it under How it was recorded.",
                )
            return self._of_question((calibration, how.ears), "tone")
        if calibration.kind == "factor":
            return None
        return calibration_shortcoming([_own_factor(each, how) for each in facts])

    def _of_file(self, path: Path | None, kind: str) -> RatingsError | None:
        return None if path is None else self._of_question(path, kind)

    def _of_question(self, question: object, kind: str) -> RatingsError | None:
        problem = self._look_ups.problem(question)
        if problem is not None or self._look_ups.answer(question) is not None:
            return problem
        return DesignError(f"The {kind} is being read.", "This takes a moment for long files.")


def says_pascal(facts: Sequence[SoundFacts]) -> bool:
    """Whether every file says its pascal by itself."""
    return bool(facts) and all(any(each.pa_per_full_scale) for each in facts)


def _own_factor(facts: SoundFacts, how: HowRecorded) -> float | None:
    own = facts.pa_per_full_scale
    left = how.left_channel if facts.channels > 1 else 0
    return own[left] if left < len(own) else None


def _equaliser_words(path: Path) -> str:
    from ratings.clips.equaliser import read_equaliser

    equaliser = read_equaliser(path)
    rate_hz = equaliser.sample_rate_hz
    at = "at the rate of the clips" if rate_hz is None else f"at {rate_hz / 1000:g} kHz"
    return f"{counted(len(equaliser.taps), 'tap')} {at}, for all clips alike."


def _speed_words(path: Path) -> str:
    from ratings.recordings.speed.trace_files import read_speed_trace

    speed_km_h = read_speed_trace(path).speed_km_h
    return f"{speed_km_h.min():.1f} to {speed_km_h.max():.1f} km/h"
