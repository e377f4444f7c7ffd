"""The two clips of a pair, checked and made ready to loop and to end without a click."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.playback.fades import (
    correlation_within_full_scale,
    crossfade,
    fade_frames,
    start_ramp,
    zero_lag_correlation,
)
from app.playback.level import far_apart, played_db, sides_are_far_apart
from ratings.acoustics.levels import ClipLevels, clip_levels
from ratings.errors import PlaybackError

SHORTEST_CLIP_S = 0.25
CHANNELS = 2


@dataclass(frozen=True, slots=True, eq=False)
class LoadedPair:
    """Two clips as they were read, with the gain that each is to be played at.

    Attributes
    ----------
    a, b
        Samples, shape (frames, 2), full scale 1.0, equally long.
    sample_rate_hz
        Rate of both.
    gain_a, gain_b
        Linear gain from the level calibration, see `app.playback.level`.
    highest_gain
        Gain that neither side may ever exceed while it is loaded; None for the gains themselves.
    levels_a, levels_b
        Levels of the samples where they were measured already; else they are measured here.
    """

    a: NDArray[np.float32]
    b: NDArray[np.float32]
    sample_rate_hz: int
    gain_a: float = 1.0
    gain_b: float = 1.0
    highest_gain: float | None = None
    levels_a: ClipLevels | None = None
    levels_b: ClipLevels | None = None

    @property
    def highest_gains(self) -> tuple[float, float]:
        """Highest gain that is allowed for A and for B."""
        if self.highest_gain is None:
            return self.gain_a, self.gain_b
        return self.highest_gain, self.highest_gain


@dataclass(frozen=True, slots=True, eq=False)
class PairAudio:
    """What the mix reads: both clips with the seam of the loop and the end baked in.

    Attributes
    ----------
    looped_a, looped_b
        Shape (frames, 2). The last 10 ms are a crossfade from the clip's end into its first 10 ms,
        so that frame 10 ms follows the last frame without a step.
    ending_a, ending_b
        The clip's own last 10 ms faded to zero, shape (fade frames, 2).
    correlation
        What the switching fade is computed for, 0 to 1.
    highest_gain_a, highest_gain_b
        Gain that each side may not exceed.
    """

    looped_a: NDArray[np.float32]
    looped_b: NDArray[np.float32]
    ending_a: NDArray[np.float32]
    ending_b: NDArray[np.float32]
    sample_rate_hz: int
    correlation: float
    highest_gain_a: float
    highest_gain_b: float


def prepared(pair: LoadedPair) -> PairAudio:
    """Check a pair and bake its seams.

    Raises
    ------
    PlaybackError
        When the clips cannot be played together, or would exceed full scale at their gains.
    """
    check_pair(pair)
    frames = fade_frames(pair.sample_rate_hz)
    return PairAudio(
        looped(pair.a, frames),
        looped(pair.b, frames),
        ending(pair.a, frames),
        ending(pair.b, frames),
        pair.sample_rate_hz,
        correlation_within_full_scale(zero_lag_correlation(pair.a, pair.b), loudest_peak(pair)),
        *pair.highest_gains,
    )


def looped(clip: NDArray[np.float32], frames: int) -> NDArray[np.float32]:
    """Replace the last `frames` of a copy by a crossfade into the first `frames`."""
    head, tail = clip[:frames], clip[-frames:]
    seam = _faded(tail, head, zero_lag_correlation(tail, head))
    if np.abs(seam).max() > np.abs(clip).max():
        # A seam never asks for more room than the clip that the level check has seen.
        seam = _faded(tail, head, 1.0)
    baked = clip.copy()
    baked[-frames:] = seam
    return baked


def ending(clip: NDArray[np.float32], frames: int) -> NDArray[np.float32]:
    """Fade the last `frames` of a copy to exactly zero."""
    return clip[-frames:] * start_ramp(frames)[-2::-1]


def loudest_peak(pair: LoadedPair) -> float:
    """Larger of the two peaks after the highest gain allowed, 1.0 at full scale."""
    peak_a, peak_b = float(np.abs(pair.a).max()), float(np.abs(pair.b).max())
    highest_a, highest_b = pair.highest_gains
    return max(peak_a * highest_a, peak_b * highest_b)


def check_pair(pair: LoadedPair) -> None:
    """Refuse a pair that cannot be played side by side."""
    for gain in (pair.gain_a, pair.gain_b):
        if not 0.0 <= gain <= max(pair.highest_gains) < math.inf:
            raise PlaybackError(
                "The gain of a clip of this pair is not one.", "Check the measured level."
            )
    for clip in (pair.a, pair.b):
        if clip.ndim != CHANNELS or clip.shape[1] != CHANNELS or clip.dtype != np.float32:
            raise PlaybackError(
                "A clip is not in two channels.", "Make the clips of this pair anew."
            )
        if len(clip) < SHORTEST_CLIP_S * pair.sample_rate_hz:
            raise PlaybackError(
                f"A clip of this pair is shorter than {SHORTEST_CLIP_S} s.",
                "Cut a longer clip from the recording.",
            )
        if not np.isfinite(clip).all():
            raise PlaybackError(
                "A clip of this pair holds samples that are not numbers.",
                "Make the clips of this pair anew.",
            )
    if len(pair.a) != len(pair.b):
        raise PlaybackError(
            "The two clips of this pair are not equally long.",
            "Cut both to the same length, so that they can share one position.",
        )
    if not loudest_peak(pair) <= 1.0:
        raise PlaybackError(
            "A clip of this pair would exceed full scale at its gain.",
            "Nothing is limited silently. Turn the amplifier up and calibrate the output again.",
        )
    if sides_are_far_apart(*_levels_of(pair)):
        raise far_apart()


def louder_level_db(pair: LoadedPair) -> float:
    """Return the A-weighted equivalent level of the louder side after its gain, re full scale."""
    return max(played_db(gain, levels) for gain, levels in _levels_of(pair))


def _levels_of(pair: LoadedPair) -> tuple[tuple[float, ClipLevels], tuple[float, ClipLevels]]:
    levels_a = pair.levels_a or _measured(pair.a, pair.sample_rate_hz)
    levels_b = pair.levels_b or _measured(pair.b, pair.sample_rate_hz)
    return (pair.gain_a, levels_a), (pair.gain_b, levels_b)


def _measured(clip: NDArray[np.float32], sample_rate_hz: int) -> ClipLevels:
    return clip_levels(clip.astype(np.float64), sample_rate_hz)


def _faded(
    first: NDArray[np.float32], second: NDArray[np.float32], correlation: float
) -> NDArray[np.float32]:
    # Step 0 would repeat the first sound's own frame: n frames take the steps 1 to n.
    weights = crossfade(len(first), correlation)
    return weights.both[1:] * second + weights.first[1:] * (first - second)
