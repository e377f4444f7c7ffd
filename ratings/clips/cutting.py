"""Clips out: a stretch of a recording, two ears, one rate, and no trace of where it came from."""

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from ratings.acoustics.faults.equal_samples import lost_stretches
from ratings.acoustics.levels import clip_levels
from ratings.clips.clip_files import HIGHEST_CODE, LOWEST_CODE, write_clip
from ratings.clips.equaliser import Equaliser
from ratings.clips.masking import Mask, masked_codes, recorder_step
from ratings.clips.stretch import PER_SECOND, as_recorded, at_clip_rate, placed
from ratings.errors import FullScaleError, RecordingError
from ratings.recordings.opening import (
    HIGHEST_SAMPLE_RATE_HZ,
    LOWEST_SAMPLE_RATE_HZ,
    OpenRecording,
    open_recording,
    shown_name,
)
from ratings.recordings.read import clipping_magnitude, is_lossy

SHORTEST_CLIP_S = 1.0
LONGEST_FADE_S = 0.5
"""Both fades together never take more than the shortest clip."""

_FULL_SCALE_CODE = 2**23
_GAIN_STEP_DB = 0.1


@dataclass(frozen=True, slots=True)
class ClipCut:
    """Which stretch of a recording becomes a clip.

    Attributes
    ----------
    left_channel, right_channel
        Channels of the recording, counted from 0, for the two ears. A recording of one channel
        is heard in both ears whatever stands here.
    start_s, stop_s
        Seconds from the start of the recording.
    gain_db
        The same for every clip that is to be compared; no clip is ever normalised.
    fade_s
        Raised-cosine rise from silence and fall to silence at the two ends. 0 for clips of a
        study: the player fades and joins loops by itself, from samples that are those of the
        recording. Other players start and stop without mercy, so clips for them need some 20 ms
        (common practice, no source); a loop then has to stay clear of both fades.
    """

    left_channel: int
    right_channel: int
    start_s: float
    stop_s: float
    gain_db: float = 0.0
    fade_s: float = 0.0


@dataclass(frozen=True, slots=True)
class ClipFacts:
    """What was written.

    Attributes
    ----------
    frames, sample_rate_hz
        Length and rate of the clip.
    content_hash
        SHA-256 of the clip file, hexadecimal.
    peak_full_scale
        Largest magnitude in either ear, full scale 1.0.
    leq_a_db_re_full_scale, fast_max_a_db_re_full_scale
        A-weighted equivalent and maximum fast level of the louder ear. 0 dB is an rms of 1.0;
        add 20 log10(pascal per full scale / 20 uPa) for the sound pressure level.
    remarks
        What was done to the sound or is odd about it, in the user's words; empty when nothing.
    """

    frames: int
    sample_rate_hz: int
    content_hash: str
    peak_full_scale: float
    leq_a_db_re_full_scale: float
    fast_max_a_db_re_full_scale: float
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class CutSound:
    """A clip that is cut and not yet written.

    Attributes
    ----------
    source
        The recording.
    codes
        24-bit samples, shape (frames, 2).
    sample_rate_hz
        Rate of the clip.
    remarks
        See `ClipFacts`.
    recorder_step
        Step of the recorder as it shows in `codes`, in steps of 24 bits; 0 where it does not.
    """

    source: Path
    codes: npt.NDArray[np.int32]
    sample_rate_hz: int
    remarks: tuple[str, ...]
    recorder_step: float

    @property
    def samples(self) -> npt.NDArray[np.float64]:
        """Samples with full scale 1.0, shape (frames, 2)."""
        return self.codes / _FULL_SCALE_CODE


def cut_clip(
    source: Path,
    destination: Path,
    cut: ClipCut,
    sample_rate_hz: int = 48_000,
    equaliser: Equaliser | None = None,
    mask: Mask | None = None,
) -> ClipFacts:
    """Cut a clip out of a recording and write it as 24-bit stereo WAV.

    Raises
    ------
    RecordingError
        When the recording cannot be used, the cut lies outside it or is under 1 s, an ear would
        hear nothing, the clip would exceed full scale, or the file cannot be written. Nothing
        is left at `destination` then, or what was there before.

    Notes
    -----
    The clip is what the whole recording, brought to `sample_rate_hz` and through the equaliser,
    holds from the frame nearest to `start_s`. Cuts of equal length give equal frame counts and
    file sizes. There is no normalising, and without a mask no dither: an integer recording of up
    to 24 bits at the same rate, gain 0, without fades and equaliser, comes out bit for bit. With a
    mask it does so within the noise that `masked_codes` tells of.
    """
    return write_cut(cut_sound(source, cut, sample_rate_hz, equaliser, mask), destination)


def cut_sound(
    source: Path,
    cut: ClipCut,
    sample_rate_hz: int = 48_000,
    equaliser: Equaliser | None = None,
    mask: Mask | None = None,
) -> CutSound:
    """Cut a clip out of a recording and keep it in memory; see `cut_clip`.

    Raises
    ------
    RecordingError
        As `cut_clip`, but for writing.
    """
    _refuse_senseless(cut, sample_rate_hz)
    fitted = None if equaliser is None else equaliser.at_rate(sample_rate_hz)
    before, after = (fitted.before, fitted.after) if fitted else (0, 0)
    with open_recording(source) as recording:
        ears = ear_channels(source, recording.channels, cut.left_channel, cut.right_channel)
        stretch = placed(recording, cut.start_s, cut.stop_s, sample_rate_hz)
        original = as_recorded(recording, stretch, sample_rate_hz, ears)
        _refuse_silence(source, original, ears)
        heard = at_clip_rate(recording, stretch, sample_rate_hz, ears, before, after)
    if fitted is not None:
        heard = fitted.applied(heard)
    if cut.gain_db != 0.0:
        heard = heard * 10 ** (cut.gain_db / 20)
    if cut.fade_s > 0.0:
        heard = _faded(heard, round(cut.fade_s * sample_rate_hz))
    codes = _codes(source, heard, is_equalised=equaliser is not None)
    _refuse_silence(source, codes, ears)
    shows = fitted is None and cut.fade_s == 0.0 and recording.sample_rate_hz == sample_rate_hz
    step = recorder_step(original) * 10 ** (cut.gain_db / 20) if shows else 0.0
    if mask is not None:
        codes = masked_codes(heard, step, mask)
    remarks = _remarks(recording, cut, original, ears, sample_rate_hz)
    if fitted is not None:
        remarks += fitted.remarks
    return CutSound(source, codes, sample_rate_hz, remarks, step)


def write_cut(sound: CutSound, destination: Path) -> ClipFacts:
    """Write a cut as 24-bit stereo WAV without tags and say what it holds.

    Raises
    ------
    RecordingError
        When it cannot be written; no half file is left, and a file that was there stays.
    """
    content_hash = write_clip(destination, sound.codes, sound.sample_rate_hz, sound.source)
    written, sample_rate_hz = sound.samples, sound.sample_rate_hz
    levels = clip_levels(written, sample_rate_hz)
    return ClipFacts(
        frames=len(written),
        sample_rate_hz=sample_rate_hz,
        content_hash=content_hash,
        peak_full_scale=levels.peak_full_scale,
        leq_a_db_re_full_scale=levels.leq_a_db_re_full_scale,
        fast_max_a_db_re_full_scale=levels.fast_max_a_db_re_full_scale,
        remarks=sound.remarks,
    )


def ear_channels(path: Path, channels: int, left: int, right: int) -> tuple[int, int]:
    """Give the channels of the two ears, from 0; a recording of one is heard in both.

    Raises
    ------
    RecordingError
        When the recording has no such channel.
    """
    if channels == 1:
        return 0, 0
    for channel in (left, right):
        if not 0 <= channel < channels:
            raise RecordingError(
                f"{shown_name(path)} has no channel {channel + 1}; it has {channels}.",
                "Choose the channels for the two ears again.",
            )
    return left, right


def _faded(heard: npt.NDArray[np.float64], frames: int) -> npt.NDArray[np.float64]:
    ramp = 0.5 - 0.5 * np.cos(np.pi * np.arange(frames) / max(frames, 1))
    faded = heard.copy()
    faded[:frames] *= ramp[:, np.newaxis]
    faded[len(faded) - frames :] *= ramp[::-1, np.newaxis]
    return faded


def _refuse_senseless(cut: ClipCut, sample_rate_hz: int) -> None:
    if not all(map(math.isfinite, (cut.start_s, cut.stop_s, cut.gain_db, cut.fade_s))):
        raise RecordingError(
            "Start, stop, gain and fade of a clip must be numbers.", "Enter them again."
        )
    if cut.stop_s - cut.start_s < SHORTEST_CLIP_S - 1 / PER_SECOND:
        raise RecordingError(
            f"A clip from {cut.start_s:.3f} s to {cut.stop_s:.3f} s is shorter than "
            f"{SHORTEST_CLIP_S:g} s, too short to be judged by ear.",
            "Choose a longer stretch; 5 to 8 s suit steady speed.",
        )
    if not 0.0 <= cut.fade_s <= LONGEST_FADE_S:
        raise RecordingError(
            f"A fade of {cut.fade_s:g} s is not possible.",
            f"Choose 0 to {LONGEST_FADE_S:g} s; 0.02 s is enough to start without a click.",
        )
    if not LOWEST_SAMPLE_RATE_HZ <= sample_rate_hz <= HIGHEST_SAMPLE_RATE_HZ:
        raise RecordingError(
            f"Clips cannot be written at {sample_rate_hz} Hz.",
            f"Choose {LOWEST_SAMPLE_RATE_HZ} to {HIGHEST_SAMPLE_RATE_HZ} Hz; 48000 Hz is usual.",
        )


def _remarks(
    recording: OpenRecording,
    cut: ClipCut,
    original: npt.NDArray[np.float64],
    ears: tuple[int, int],
    sample_rate_hz: int,
) -> tuple[str, ...]:
    remarks = []
    if ears[0] == ears[1]:
        remarks.append(f"channel {ears[0] + 1} in both ears")
    is_resampled = recording.sample_rate_hz != sample_rate_hz
    if is_resampled:
        remarks.append(f"resampled from {recording.sample_rate_hz} to {sample_rate_hz} Hz")
    if cut.fade_s > 0.0:
        remarks.append(f"fades of {cut.fade_s * 1000:g} ms at both ends")
    if cut.gain_db != 0.0:
        remarks.append(f"gain {cut.gain_db:+g} dB")
    elif not is_resampled and np.any(original * _FULL_SCALE_CODE % 1):
        remarks.append("rounded to 24 bits")
    if is_lossy(recording.encoding):
        remarks.append(f"the recording was stored with loss ({recording.encoding})")
    remarks += _ear_remarks(recording, cut, original)
    return tuple(remarks)


def _ear_remarks(
    recording: OpenRecording, cut: ClipCut, original: npt.NDArray[np.float64]
) -> list[str]:
    remarks = []
    limit = clipping_magnitude(recording.encoding)
    for ear, row in zip(("left", "right"), original.T, strict=True):
        lost = lost_stretches(np.ascontiguousarray(row), recording.sample_rate_hz, limit)
        if lost:
            remarks.append(f"{ear} ear: the signal is lost at {cut.start_s + lost[0][0]:.2f} s")
    clipped = np.count_nonzero(np.abs(original) >= limit, axis=0)
    for ear, count in zip(("left", "right"), clipped.tolist(), strict=True):
        if count:
            remarks.append(f"{ear} ear: {count} samples at full scale in the recording")
    return remarks


def _refuse_silence(
    source: Path,
    samples: npt.NDArray[np.float64] | npt.NDArray[np.int32],
    ears: tuple[int, int],
) -> None:
    for ear, channel, column in zip(("left", "right"), ears, samples.T, strict=True):
        if column.min() == column.max():
            raise RecordingError(
                f"Channel {channel + 1} of {shown_name(source)}, for the {ear} ear, "
                "is silent throughout this clip.",
                "Choose another channel, another stretch or another run.",
            )


def _codes(
    source: Path, heard: npt.NDArray[np.float64], *, is_equalised: bool
) -> npt.NDArray[np.int32]:
    scaled = np.rint(heard * _FULL_SCALE_CODE)
    over = max(scaled.max() / HIGHEST_CODE, scaled.min() / LOWEST_CODE)
    if over > 1:
        over_db = math.ceil(20 * math.log10(over) / _GAIN_STEP_DB) * _GAIN_STEP_DB
        raise FullScaleError(
            f"This clip of {shown_name(source)} would exceed full scale by {over_db:.1f} dB"
            f"{' behind the equaliser' if is_equalised else ''}.",
            f"Lower the gain of all clips of the study by {over_db:.1f} dB; "
            "lowering only this one would make it sound quieter than the others.",
            over_db,
        )
    return scaled.astype(np.int32)
