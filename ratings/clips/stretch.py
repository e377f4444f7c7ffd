"""The stretch of a recording that a clip is cut from: placed to the frame, at the clip's rate."""

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import soxr

from ratings.errors import RecordingError
from ratings.recordings.opening import OpenRecording, shown_name

PER_SECOND = 10**9
"""Times are counted in whole nanoseconds, so that 10.1 - 2.1 and 8.1 - 0.1 are equally long."""

Samples = npt.NDArray[np.float64]


class Stretch(NamedTuple):
    """Where a clip lies in its recording, counted at the rate of the clip.

    Attributes
    ----------
    start_frame, frames
        First frame and number of frames.
    available
        Frames of the whole recording at that rate.
    """

    start_frame: int
    frames: int
    available: int


def first_frame(start_s: float, sample_rate_hz: int) -> int:
    """Give the frame nearest to an instant."""
    return (round(start_s * PER_SECOND) * sample_rate_hz + PER_SECOND // 2) // PER_SECOND


def placed(recording: OpenRecording, start_s: float, stop_s: float, sample_rate_hz: int) -> Stretch:
    """Give the stretch between two instants.

    Raises
    ------
    RecordingError
        When it does not lie within the recording.
    """
    length_ns = round((stop_s - start_s) * PER_SECOND)
    frames = (length_ns * sample_rate_hz + PER_SECOND // 2) // PER_SECOND
    start_frame = first_frame(start_s, sample_rate_hz)
    source_hz = recording.sample_rate_hz
    available = (recording.frames * sample_rate_hz + source_hz // 2) // source_hz
    if start_frame + frames == available + 1 and start_frame > 0:
        # Start and length were both rounded up by half a frame.
        start_frame -= 1
    if start_s < 0 or start_frame + frames > available:
        raise RecordingError(
            f"{shown_name(recording.path)} lasts {recording.duration_s:.3f} s; a clip from "
            f"{start_s:.3f} s to {stop_s:.3f} s does not lie within it.",
            "Move the window, shorten it, or choose a longer run.",
        )
    return Stretch(start_frame, frames, available)


def as_recorded(
    recording: OpenRecording, stretch: Stretch, sample_rate_hz: int, ears: tuple[int, int]
) -> Samples:
    """Read the stretch at the recording's own rate, shape (its frames, 2)."""
    first, last = _source_frames(recording, stretch, sample_rate_hz)
    return recording.read(first, last)[:, ears]


def at_clip_rate(
    recording: OpenRecording,
    stretch: Stretch,
    sample_rate_hz: int,
    ears: tuple[int, int],
    before: int = 0,
    after: int = 0,
) -> Samples:
    """Read the stretch at the clip's rate, with its surroundings.

    Parameters
    ----------
    before, after
        Frames wanted in front of and behind the stretch; zeros where the recording has none.

    Returns
    -------
    Shape (before + frames + after, 2).
    """
    start = max(0, stretch.start_frame - before)
    stop = min(stretch.start_frame + stretch.frames + after, stretch.available)
    wide = Stretch(start, stop - start, stretch.available)
    heard = _resampled(recording, wide, sample_rate_hz, ears)
    missing_before = before - (stretch.start_frame - start)
    missing_after = before + stretch.frames + after - missing_before - len(heard)
    if missing_before or missing_after:
        return np.pad(heard, ((missing_before, missing_after), (0, 0)))
    return heard


def _source_frames(
    recording: OpenRecording, stretch: Stretch, sample_rate_hz: int
) -> tuple[int, int]:
    source_hz = recording.sample_rate_hz
    first = stretch.start_frame * source_hz // sample_rate_hz
    last = -(-(stretch.start_frame + stretch.frames) * source_hz // sample_rate_hz)
    return first, min(last, recording.frames)


def _resampled(
    recording: OpenRecording, stretch: Stretch, sample_rate_hz: int, ears: tuple[int, int]
) -> Samples:
    source_hz = recording.sample_rate_hz
    first, last = _source_frames(recording, stretch, sample_rate_hz)
    if source_hz == sample_rate_hz:
        return recording.read(first, last)[:, ears]
    # The resampled frames fall on source frames once per period. Starting there, a second or
    # more before the clip, gives the very frames that resampling the whole recording would.
    period = source_hz // math.gcd(source_hz, sample_rate_hz)
    read_from = max(0, first - source_hz) // period * period
    read_to = min(last + source_hz, recording.frames)
    samples = recording.read(read_from, read_to)[:, ears]
    resampled: Samples = soxr.resample(samples, source_hz, sample_rate_hz, quality="VHQ")
    skipped = stretch.start_frame - read_from * sample_rate_hz // source_hz
    return resampled[skipped : skipped + stretch.frames]
