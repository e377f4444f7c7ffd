"""The headphones' equaliser: the taps of a filter read from a file, and a clip run through it."""

import math
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soxr

from ratings.errors import NumberError, RecordingError
from ratings.recordings.opening import (
    HIGHEST_SAMPLE_RATE_HZ,
    LOWEST_SAMPLE_RATE_HZ,
    open_recording,
    shown_name,
    unreadable,
)
from ratings.recordings.read import content_hash
from ratings.recordings.refusals import ordinary_bytes
from ratings.study.written_numbers import read_number

MOST_TAPS = 2**17
_MOST_TEXT_BYTES = 2**24
_TEXT_SUFFIXES = (".csv", ".txt", ".tsv", ".dat")
_EARS = 2
_RESAMPLING_MARGIN_FRAMES = 1024
_GAIN_FRAMES = 2**15

#: Symmetric to one part in a million counts as symmetric: taps are often stored in 24 bits.
_SYMMETRY_TOLERANCE = 1e-6
_ROUNDING = 1e-6
_RATE_LINE = re.compile(r"#\s*sample_rate_hz\s*[=:]\s*(\d+)\s*$", re.IGNORECASE)
_TAPS_ONLY = (
    "Give one column of taps for both ears or two for left and right, without a heading; a first "
    "line '# sample_rate_hz = 48000' may say the rate."
)

Samples = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class FittedEqualiser:
    """An equaliser at the rate of a clip, ready to be applied.

    Attributes
    ----------
    taps
        Shape (taps, 2), without zeros in front and behind.
    before, after
        Frames of surroundings that a stretch needs on either side, so that its first and last
        frame are filtered like all others.
    offset
        Frames by which the first tap looks ahead; negative when it looks back.
    remarks
        What was done, in the user's words.
    """

    taps: Samples
    before: int
    after: int
    offset: int
    remarks: tuple[str, ...]

    def applied(self, samples: Samples) -> Samples:
        """Filter a stretch of shape (before + frames + after, 2); returns shape (frames, 2)."""
        first = self.before + self.offset
        frames = len(samples) - self.before - self.after
        if len(self.taps) == 1:
            # One tap is a gain: exact, so that an identity changes no bit.
            return samples[first : first + frames] * self.taps
        from scipy.signal import oaconvolve

        filtered: Samples = oaconvolve(samples, self.taps, mode="full", axes=0)
        return filtered[first : first + frames]


@dataclass(frozen=True, slots=True, eq=False)
class Equaliser:
    """A finite impulse response as its file holds it.

    Attributes
    ----------
    equaliser_id
        SHA-256 of the file, hexadecimal: the same file is the same equaliser.
    name
        File name without its folder.
    taps
        Shape (taps, 2), left and right ear.
    sample_rate_hz
        Rate of the taps; None when the file does not say, which means the rate of the clip.
    """

    equaliser_id: str
    name: str
    taps: Samples
    sample_rate_hz: int | None

    @property
    def highest_gain_db(self) -> float:
        """Highest gain at any frequency in either ear."""
        frames = max(_GAIN_FRAMES, len(self.taps))
        spectrum = np.abs(np.fft.rfft(self.taps, frames, axis=0))
        return float(20 * np.log10(spectrum.max()))

    def at_rate(self, sample_rate_hz: int) -> FittedEqualiser:
        """Fit to the rate of a clip.

        Notes
        -----
        Taps that are symmetric about one instant in both ears (linear phase) delay all
        frequencies alike; the delay is taken off in whole frames. Any other filter keeps the
        delay that it has, equally for all clips, and both ears are always moved alike, so that
        the time between them stays. Taps of another rate are resampled, times the ratio of the
        rates: what was a sum over frames stays the same integral over time.
        """
        taps, centre = self.taps, _centre_of_symmetry(self.taps)
        remarks = [f"equaliser {self.equaliser_id[:12]}, {len(taps)} taps"]
        delay = 0.0 if centre is None else centre
        source_hz = self.sample_rate_hz
        if source_hz is None:
            remarks.append(f"the equaliser's taps are taken as at {sample_rate_hz} Hz")
        elif source_hz != sample_rate_hz:
            taps, delay = _resampled_taps(taps, source_hz, sample_rate_hz, delay)
            remarks.append(f"equaliser resampled from {source_hz} to {sample_rate_hz} Hz")
        if centre is None and len(taps) > 1:
            remarks.append("the equaliser is not of linear phase and keeps its delay")
        first, last = _support(taps)
        offset = math.floor(delay + _ROUNDING) - first
        return FittedEqualiser(
            taps=taps[first : last + 1],
            before=max(0, last - first - offset),
            after=max(0, offset),
            offset=offset,
            remarks=tuple(remarks),
        )


def read_equaliser(path: Path) -> Equaliser:
    """Read an equaliser: a sound file of one or two channels, or a text of one or two columns.

    Raises
    ------
    RecordingError
        When the file cannot be read, or does not hold the taps of a filter for one or two ears.
    """
    if path.suffix.lower() in _TEXT_SUFFIXES:
        taps, sample_rate_hz = _from_text(path)
    else:
        taps, sample_rate_hz = _from_sound(path)
    name = shown_name(path)
    if taps.shape[1] > _EARS:
        raise RecordingError(
            f"The equaliser {name} has {taps.shape[1]} columns; there are two ears.", _TAPS_ONLY
        )
    if not np.isfinite(taps).all():
        raise RecordingError(f"The equaliser {name} holds taps that are not numbers.", _TAPS_ONLY)
    if not np.any(taps, axis=0).all():
        raise RecordingError(
            f"The equaliser {name} would silence an ear: all its taps are zero.",
            "Export the equaliser again.",
        )
    both = np.repeat(taps, _EARS, axis=1) if taps.shape[1] == 1 else taps
    return Equaliser(content_hash(path), name[1:-1], both, sample_rate_hz)


def _from_sound(path: Path) -> tuple[Samples, int]:
    with open_recording(path) as recording:
        if recording.frames > MOST_TAPS:
            raise _too_long(path, recording.frames)
        return recording.read(0, recording.frames), recording.sample_rate_hz


def _from_text(path: Path) -> tuple[Samples, int | None]:
    try:
        if ordinary_bytes(path, "an equaliser") > _MOST_TEXT_BYTES:
            raise RecordingError(f"{shown_name(path)} is too large to be an equaliser.", _TAPS_ONLY)
        lines = path.read_text(encoding="utf-8-sig", errors="replace").splitlines()
    except OSError as error:
        raise unreadable(path, error) from error
    rows, sample_rate_hz = [], None
    for number, line in enumerate(lines, start=1):
        if rate := _RATE_LINE.match(line.strip()):
            sample_rate_hz = _sound_rate(path, int(rate[1]))
        elif line.strip() and not line.lstrip().startswith("#"):
            rows.append(_row(path, number, line))
    if not rows:
        raise RecordingError(f"The equaliser {shown_name(path)} holds no taps.", _TAPS_ONLY)
    if len(rows) > MOST_TAPS:
        raise _too_long(path, len(rows))
    if len({len(row) for row in rows}) > 1:
        raise RecordingError(
            f"The equaliser {shown_name(path)} has not the same number of columns in every row.",
            _TAPS_ONLY,
        )
    return np.array(rows, dtype=np.float64), sample_rate_hz


def _row(path: Path, number: int, line: str) -> list[float]:
    where = f"The equaliser {shown_name(path)}, line {number}:"
    if re.search(r"[;\t]", line):
        cells = re.split(r"[;\t]", line)
    elif any("," in word.strip(",") and _is_number(word) for word in line.split()):
        raise RecordingError(
            f'{where} "{line.strip()[:40]}" may be decimal commas, or commas between columns.',
            "Separate the columns with semicolons, or write decimal points.",
        )
    else:
        cells = re.split(r",\s*|\s+", line.strip())
    try:
        return [read_number(cell) for cell in cells]
    except NumberError as problem:
        raise RecordingError(f"{where} {problem.what_happened}", _TAPS_ONLY) from problem


def _is_number(text: str) -> bool:
    try:
        read_number(text)
    except NumberError:
        return False
    return True


def _sound_rate(path: Path, sample_rate_hz: int) -> int:
    if not LOWEST_SAMPLE_RATE_HZ <= sample_rate_hz <= HIGHEST_SAMPLE_RATE_HZ:
        raise RecordingError(
            f"The equaliser {shown_name(path)} gives a sample rate of {sample_rate_hz} Hz.",
            f"Use {LOWEST_SAMPLE_RATE_HZ} to {HIGHEST_SAMPLE_RATE_HZ} Hz.",
        )
    return sample_rate_hz


def _too_long(path: Path, taps: int) -> RecordingError:
    return RecordingError(
        f"{shown_name(path)} has {taps} frames; an equaliser has {MOST_TAPS} taps at most.",
        "Choose the equaliser's impulse response, not a recording.",
    )


def _support(taps: Samples) -> tuple[int, int]:
    """Give the first and last row that is not all zero."""
    rows = np.flatnonzero(taps.any(axis=1))
    return int(rows[0]), int(rows[-1])


def _centre_of_symmetry(taps: Samples) -> float | None:
    first, last = _support(taps)
    held = taps[first : last + 1]
    is_symmetric = np.abs(held - held[::-1]).max() <= _SYMMETRY_TOLERANCE * np.abs(held).max()
    return (first + last) / 2 if is_symmetric else None


def _resampled_taps(
    taps: Samples, source_hz: int, sample_rate_hz: int, centre: float
) -> tuple[Samples, float]:
    """Give taps at another rate, and where the old frame `centre` lies among them."""
    period = source_hz // math.gcd(source_hz, sample_rate_hz)
    # Zeros for the ringing, in front so many that the centre falls on a frame of the new rate.
    fronts = _RESAMPLING_MARGIN_FRAMES + np.arange(period)
    centres = (fronts + centre) * sample_rate_hz / source_hz
    best = int(np.argmin(np.abs(centres - np.rint(centres))))
    padded = np.pad(taps, ((int(fronts[best]), _RESAMPLING_MARGIN_FRAMES), (0, 0)))
    resampled: Samples = soxr.resample(padded, source_hz, sample_rate_hz, quality="VHQ")
    return resampled * (source_hz / sample_rate_hz), float(centres[best])
