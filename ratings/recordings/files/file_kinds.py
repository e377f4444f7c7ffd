"""Measurement files told by their first bytes, whatever their names say."""

import re
from typing import BinaryIO

_HDF5_SIGNATURE = b"\x89HDF\r\n\x1a\n"
_FIRST_UFF_LINES = re.compile(rb"\A\s*-1[ \t]*\r?\n\s*\d{1,6}")
_HEAD_BYTES = 2_048 + len(_HDF5_SIGNATURE)


def measurement_kind(stream: BinaryIO) -> str | None:
    """Tell the kind of a measurement file.

    Returns
    -------
    ``UFF 58``, ``MAT``, ``MAT 7.3``, ``HDF5``, ``MDF4``, ``unfinished MDF4``, ``MDF3``; None for
    anything else.

    References
    ----------
    HDF5 File Format Specification 3.0, II.A: the signature stands at byte 0, 512, 1024 ...
    MAT-File Format (level 5), chapter 1: text, then the endian mark in bytes 127 and 128.
    ASAM MDF 4 (4.1 and up), IDBLOCK: from memory, checked against files that asammdf writes.
    Universal File Format: a line with -1 in columns 5 and 6, then the number of the data set.
    """
    stream.seek(0)
    head = stream.read(_HEAD_BYTES)
    if any(head.startswith(_HDF5_SIGNATURE, start) for start in (0, 512, 1024, 2048)):
        return "MAT 7.3" if head.startswith(b"MATLAB 7.3") else "HDF5"
    if head.startswith(b"MATLAB 5.0") and head[126:128] in (b"IM", b"MI"):
        return "MAT"
    if head.startswith(b"UnFinMF "):
        return "unfinished MDF4"
    if head.startswith(b"MDF     "):
        return "MDF4" if head[8:9] == b"4" else "MDF3"
    return "UFF 58" if _FIRST_UFF_LINES.match(head) else None
