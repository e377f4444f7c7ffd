"""What a draft's files say, read off the window's thread and remembered."""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.background.look_ups import Answer, LookUps
from ratings.errors import RatingsError
from ratings.intake.how_recorded import HowRecorded, ToneFactor, factor_by_tones
from ratings.intake.known_files import KnownFiles, usable_facts
from ratings.intake.study_draft import Draft

if TYPE_CHECKING:
    from ratings.clips.equaliser import Equaliser
    from ratings.recordings.read import SoundFacts
    from ratings.study.speed_trace import SpeedTrace


class DraftReader(QObject):
    """Reads files one by one.

    Signals
    -------
    read
        More is known of one of them.
    """

    read = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._recordings: LookUps[SoundFacts] = LookUps(self)
        self._tones: LookUps[ToneFactor] = LookUps(self)
        self._equalisers: LookUps[Equaliser] = LookUps(self)
        self._speeds: LookUps[SpeedTrace] = LookUps(self)
        for look_ups in (self._recordings, self._tones, self._equalisers, self._speeds):
            look_ups.answered.connect(self.read)

    def read_recordings(self, paths: Collection[Path]) -> None:
        """Begin to read recordings, again when they are known: they may have been mended since."""
        for path in paths:
            self._recordings.look_up(path, partial(usable_facts, path), again=True)

    def read_recorded(self, how: HowRecorded) -> None:
        """Begin to read what tells how it was recorded, as far as it is not known."""
        level = how.calibration
        if level.kind == "tones" and level.tone_before is not None:
            _look_up(self._tones, (level, how.ears), partial(factor_by_tones, level, how.ears))
        if how.equaliser is not None:
            _look_up(self._equalisers, how.equaliser, partial(_equaliser, how.equaliser))
        for path in how.speeds:
            _look_up(self._speeds, path, partial(_speed, path))

    def known(self, draft: Draft) -> KnownFiles:
        """Give what has been read of a draft's files."""
        how = draft.recorded
        by_tones = how.calibration.kind == "tones"
        return KnownFiles(
            {path: self._recordings.answer(path) for path in draft.paths},
            self._tones.answer((how.calibration, how.ears)) if by_tones else None,
            self._equalisers.answer(how.equaliser),
            {path: self._speeds.answer(path) for path in how.speeds},
        )


def _look_up(look_ups: LookUps[Answer], question: Hashable, work: Callable[[], Answer]) -> None:
    # A file that was of no use may have been mended since.
    was_refused = isinstance(look_ups.answer(question), RatingsError)
    look_ups.look_up(question, work, again=was_refused)


def _equaliser(path: Path) -> Equaliser:
    # Inside, as below, so that the page opens without the libraries for sound and numbers.
    from ratings.clips.equaliser import read_equaliser

    return read_equaliser(path)


def _speed(path: Path) -> SpeedTrace:
    from ratings.recordings.speed.trace_files import read_speed_trace

    return read_speed_trace(path)
