"""What the library refuses, in words for the person who can do something about it."""

import re
import shutil

#: How Python writes a failed file operation as text: number, reason, and the path after a colon.
_WRITTEN_REASON = re.compile(r"\[(?:Errno|WinError) -?\d+\] (?P<reason>[^:]+)")


class RatingsError(Exception):
    """Something in the user's surroundings or input that the user can mend.

    Parameters
    ----------
    what_happened
        One plain sentence with the fact, naming the file, row or set concerned.
    what_to_do
        One plain sentence with the next step, and what is safe meanwhile.
    """

    def __init__(self, what_happened: str, what_to_do: str = "") -> None:
        super().__init__(what_happened, what_to_do)
        self.what_happened = what_happened
        self.what_to_do = what_to_do

    def __str__(self) -> str:
        return f"{self.what_happened} {self.what_to_do}".rstrip()


class RecordingError(RatingsError):
    """A sound file that cannot be used as it is."""


class FullScaleError(RecordingError):
    """Clips that would exceed full scale.

    Attributes
    ----------
    over_db
        The loudest by so much, rounded up to tenths.
    clips
        How many would.
    """

    def __init__(self, what_happened: str, what_to_do: str, over_db: float, clips: int = 1) -> None:
        super().__init__(what_happened, what_to_do)
        self.over_db = over_db
        self.clips = clips


class DoubtfulClipError(RecordingError):
    """A clip that is hardly right; whoever leads the study may accept it by its first sentence."""


class ScoreTableError(RatingsError):
    """A table of scores with something in it that is not a score of this study."""


class NumberError(RatingsError):
    """A written number that cannot be read, or in more than one way."""


class StudyError(RatingsError):
    """A study folder that cannot be opened, read or written."""


class UnsavedError(StudyError):
    """A study that could not be reached or written now; the same entry may be given again."""


class DesignError(RatingsError):
    """A plan from which no sound listening session can be made."""


class MeasurementError(RatingsError):
    """Something that cannot be measured, or not from what was given."""


class PlaybackError(RatingsError):
    """Sound that cannot, or must not, be played."""


class Cancelled(Exception):  # noqa: N818 - not an error: somebody asked for it
    """Long work was stopped on request; what it had begun is undone."""


def reason_of(problem: OSError) -> str:
    """Return the system's reason for a failed file operation, to stand inside a sentence."""
    reason = problem.strerror or _last_reason(problem) or "the system gives no reason"
    return reason.lower()


def _last_reason(problem: OSError) -> str:
    # Copying a folder collects a list of (from, to, reason); the last is what ended it.
    if not (isinstance(problem, shutil.Error) and problem.args and problem.args[0]):
        return ""
    collected = problem.args[0]
    written = collected if isinstance(collected, str) else str(collected[-1][-1])
    found = _WRITTEN_REASON.match(written)
    return found["reason"] if found else written
