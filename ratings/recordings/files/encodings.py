"""How samples are stored, and what follows from it: loss, and where clipping begins."""

import math

_INTEGER_BITS = {"PCM_S8": 8, "PCM_U8": 8, "PCM_16": 16, "PCM_24": 24, "PCM_32": 32}
_LOSSLESS_SOUND = (*_INTEGER_BITS, "FLOAT", "DOUBLE")
_SIGNED_BITS = {"int8": 8, "int16": 16, "int32": 32, "int64": 64}
_UNSIGNED = ("uint8", "uint16", "uint32", "uint64")
_FLOATING = ("float16", "float32", "float64")
_MEASUREMENT = (*_SIGNED_BITS, *_UNSIGNED, *_FLOATING)


def is_lossy(encoding: str) -> bool:
    """Tell whether an encoding throws part of the sound away."""
    return encoding not in _LOSSLESS_SOUND and encoding not in _MEASUREMENT


def clipping_magnitude(encoding: str) -> float:
    """Give the magnitude from which a sample counts as clipped.

    Returns
    -------
    In fractions of full scale for sound files. In stored numbers for the integers of a
    measurement file; infinite for its other numbers, whose range it does not tell.

    Notes
    -----
    The highest positive code of an integer encoding lies one step below full scale, and
    converters stop at plus or minus that code.
    """
    if encoding in _INTEGER_BITS:
        return 1.0 - 2.0 ** (1 - _INTEGER_BITS[encoding])
    if encoding in _SIGNED_BITS:
        return 2.0 ** (_SIGNED_BITS[encoding] - 1) - 1.0
    return math.inf if encoding in _MEASUREMENT else 1.0
