"""A speed trace with what was odd about its source, and the checks that every source shares."""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import numpy.typing as npt

from ratings.errors import RecordingError
from ratings.recordings.refusals import missing, ordinary_bytes, shown_name, unreadable
from ratings.study.speed_trace import SpeedTrace

LONGEST_GAP_S = 2.0
"""Speed is not invented over longer gaps, unless the whole trace is that coarse (own rule)."""
_GAP_INTERVALS = 5.0
_MOST_BYTES = 2**27

Series = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class SpeedRecord:
    """A speed trace and where it came from.

    Attributes
    ----------
    trace
        Speed over the time of the recording.
    remarks
        What was worked out, left out or is odd, in the user's words; empty when nothing.
    """

    trace: SpeedTrace
    remarks: tuple[str, ...] = ()

    def shifted(self, offset_s: float) -> "SpeedRecord":
        """Give the same trace later by `offset_s`, to line it up with its recording.

        Raises
        ------
        RecordingError
            When the offset is no number.
        """
        if not np.isfinite(offset_s):
            raise RecordingError("The offset of the speed trace must be a number of seconds.")
        if offset_s == 0.0:
            return self
        moved = SpeedTrace(self.trace.times_s + offset_s, self.trace.speed_km_h)
        return replace(self, trace=moved)


def checked_trace(path: Path, times_s: Series, speed_km_h: Series) -> SpeedTrace:
    """Make a trace, or say what is wrong with it.

    Parameters
    ----------
    times_s, speed_km_h
        Shape (n,), both.

    Raises
    ------
    RecordingError
        Fewer than two points, no numbers, times that do not increase, speeds below zero, or a
        gap: longer than 2 s and than five usual intervals.
    """
    name = shown_name(path)
    if len(times_s) < 2:
        raise RecordingError(
            f"{name} holds {len(times_s)} point{'' if len(times_s) == 1 else 's'} of speed; "
            "a trace needs two at least.",
            "Export the trace of the whole run.",
        )
    if not (np.isfinite(times_s).all() and np.isfinite(speed_km_h).all()):
        point = int(np.argmin(np.isfinite(times_s) & np.isfinite(speed_km_h))) + 1
        raise RecordingError(
            f"{name}: point {point} is not a number.", "Export the speed trace again."
        )
    intervals_s = np.diff(times_s)
    if (intervals_s <= 0.0).any():
        at = int(np.argmax(intervals_s <= 0.0))
        raise RecordingError(
            f"{name}: the times do not increase, {times_s[at + 1]:.3f} s comes after "
            f"{times_s[at]:.3f} s (point {at + 2}).",
            "Sort the points by time and remove duplicates.",
        )
    if (speed_km_h < 0.0).any():
        at = int(np.argmax(speed_km_h < 0.0))
        raise RecordingError(
            f"{name}: the speed at {times_s[at]:.3f} s is below zero ({speed_km_h[at]:.2f} km/h).",
            "Check the column or the factor of the speed.",
        )
    longest = int(np.argmax(intervals_s))
    if intervals_s[longest] > max(LONGEST_GAP_S, _GAP_INTERVALS * float(np.median(intervals_s))):
        raise RecordingError(
            f"{name}: the speed is missing for {intervals_s[longest]:.1f} s from "
            f"{times_s[longest]:.1f} s on.",
            "Use a trace without that gap, or cut the file before or behind it.",
        )
    return SpeedTrace(times_s, speed_km_h)


def within_recording(trace: SpeedTrace, recording: Path, duration_s: float) -> SpeedTrace:
    """Give the part of a trace in which its recording runs; the way there and back is no run.

    Raises
    ------
    RecordingError
        When the trace holds no speed while the recording runs.
    """
    first_s, last_s = float(trace.times_s[0]), float(trace.times_s[-1])
    start_s, stop_s = max(0.0, first_s), min(duration_s, last_s)
    if not start_s < stop_s:
        raise RecordingError(
            f"The speed trace runs from {first_s:.1f} to {last_s:.1f} s and "
            f"{shown_name(recording)} from 0 to {duration_s:.1f} s: they have no time in common.",
            "Choose the trace of this run, or shift it to times from the recording's start.",
        )
    inside = trace.times_s[(trace.times_s > start_s) & (trace.times_s < stop_s)]
    times_s = np.concatenate([[start_s], inside, [stop_s]])
    return SpeedTrace(times_s, trace.at(times_s))


def read_bytes(path: Path) -> bytes:
    """Read a speed file whole.

    Raises
    ------
    RecordingError
        When it is missing, empty, out of reach, or larger than 128 MB.
    """
    try:
        if ordinary_bytes(path, "a speed trace") > _MOST_BYTES:
            raise RecordingError(
                f"{shown_name(path)} is too large to be a speed trace.",
                "Choose the file of the trace, not of the sound.",
            )
        content = path.read_bytes()
    except (FileNotFoundError, NotADirectoryError) as error:
        raise missing(path) from error
    except OSError as error:
        raise unreadable(path, error) from error
    if not content.strip():
        raise RecordingError(
            f"{shown_name(path)} is empty: it holds no speed.", "Export the speed trace again."
        )
    return content


def as_text(path: Path, content: bytes) -> str:
    """Decode UTF-8 or UTF-16 with or without its mark, else Windows' western European code page.

    Raises
    ------
    RecordingError
        When the bytes are no text.
    """
    is_utf_16 = content.startswith((b"\xff\xfe", b"\xfe\xff"))
    for encoding in ("utf-16",) if is_utf_16 else ("utf-8-sig", "cp1252"):
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    raise RecordingError(
        f"{shown_name(path)} is not a text file, so no speed trace can be read from it.",
        "Give a CSV with time_s and speed_km_h, a GPX track, or an NMEA log.",
    )
