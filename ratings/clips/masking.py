"""Noise under which the last bits of all clips of a study are alike, whatever recorded them."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ratings.clips.clip_files import HIGHEST_CODE, LOWEST_CODE

#: A recorder of fewer bits than 16 is not hidden: the noise that this takes could be heard.
COARSEST_STEP = 2**8

_FULL_SCALE_CODE = 2**23


@dataclass(frozen=True, slots=True)
class Mask:
    """The noise of one clip.

    Attributes
    ----------
    step
        Of the coarsest recording of the study as it stands in the clips, in steps of 24 bits: 1,
        the least, for recorders of 24 bits, 256 for one of 16 bits at gain 0.
    seed
        128 bits, hexadecimal; another one for every clip, so that no two copies of a stretch are
        equal.
    """

    step: float
    seed: str


def recorder_step(samples: npt.NDArray[np.float64]) -> int:
    """Return the step of the recorder that shows in samples, in steps of 24 bits.

    Parameters
    ----------
    samples
        As recorded, full scale 1.0, of any shape.

    Returns
    -------
    The highest power of two of which all samples are multiples: 1 to `COARSEST_STEP`.
    """
    codes = samples * _FULL_SCALE_CODE
    if np.any(codes % 1):
        return 1
    common = int(np.bitwise_or.reduce(np.abs(codes).astype(np.int64), axis=None))
    return min(common & -common or COARSEST_STEP, COARSEST_STEP)


def masked_codes(
    heard: npt.NDArray[np.float64], own_step: float, mask: Mask
) -> npt.NDArray[np.int32]:
    """Round samples to 24 bits under the noise of a clip.

    Parameters
    ----------
    heard
        Full scale 1.0, nowhere beyond it; shape (frames, 2).
    own_step
        Step of the clip's own recorder as it stands in `heard`, in steps of 24 bits; 0 where none
        shows, as behind a resampler or an equaliser.

    Notes
    -----
    Triangular noise from -1 to +1 of its own step makes a recorder's step vanish from the first two
    moments of what comes out, and from the distribution of its values (Lipshitz, Wannamaker and
    Vanderkooy 1992, J Audio Eng Soc 40:355-375; from memory). A second, independent one brings all
    clips of a study to the same power, that of the coarsest: rms `step` / sqrt(6) steps of 24 bits.
    That is -146.3 dB re full scale (rms 1.0) for recorders of 24 bits, and -98.1 dB, 3 dB above the
    rounding of the recorder itself, as soon as one of 16 bits is among them: 21.9 dB re 20 uPa over
    the whole band at 20 Pa per full scale, far below any road noise.

    Raw bits of the generator make the noise: their sequence is the same in every version of numpy,
    so that a lost clip can be cut again bit for bit.
    """
    own = min(own_step, mask.step)
    rest = (mask.step**2 - own**2) ** 0.5
    bits = np.random.PCG64(int(mask.seed, 16))
    noise = own * _triangular(bits, heard.shape)
    if rest > 0.0:
        noise += rest * _triangular(bits, heard.shape)
    codes = np.rint(heard * _FULL_SCALE_CODE + noise)
    # A sample at full scale stays there: the noise alone is no reason to refuse a clip.
    kept: npt.NDArray[np.int32] = np.clip(codes, LOWEST_CODE, HIGHEST_CODE).astype(np.int32)
    return kept


def _triangular(bits: np.random.PCG64, shape: tuple[int, ...]) -> npt.NDArray[np.float64]:
    """Give independent numbers between -1 and 1, with a triangular distribution."""
    raw = bits.random_raw(int(np.prod(shape))).reshape(shape)
    low = (raw & 0xFFFFFFFF).astype(np.float64)
    triangular: npt.NDArray[np.float64] = ((raw >> 32).astype(np.float64) - low) / 2**32
    return triangular
