"""The kind of a recording file, and what its header promises against the bytes that are there."""

import os
import re
import struct
from dataclasses import dataclass
from typing import BinaryIO

_UNFINISHED_SIZES = (0, 0xFFFF_FFFF)
"""Data sizes that a WAV recorder writes first and corrects only when it closes the file."""

SOUND_KINDS = ("WAV", "RF64", "W64", "AIFF", "CAF", "FLAC", "OGG")
"""Kinds whose samples are fractions of full scale."""

_LARGEST_OGG_PAGE = 65_307
_HDF5_SIGNATURE = b"\x89HDF\r\n\x1a\n"
_FIRST_UFF_LINES = re.compile(rb"\A\s*-1[ \t]*\r?\n\s*\d{1,6}")
_HEAD_BYTES = 2_048 + len(_HDF5_SIGNATURE)


@dataclass(frozen=True, slots=True)
class Container:
    """The kind of a recording file and how much of its sound is there.

    Attributes
    ----------
    name
        One of `SOUND_KINDS`, or of the measurement files ``UFF 58``, ``MAT``, ``MAT 7.3``,
        ``HDF5``, ``MDF4``, ``unfinished MDF4``, ``MDF3``.
    promised_bytes
        Bytes of sound by the header; None where the header gives no byte count.
    held_bytes
        Bytes from the start of the sound to the end of the file; None as above.
    is_unfinished
        The header was never completed: the recorder stopped before it closed the file.
    bytes_after_end
        Bytes beyond the end that the header gives for the whole file.
    """

    name: str
    promised_bytes: int | None = None
    held_bytes: int | None = None
    is_unfinished: bool = False
    bytes_after_end: int = 0


@dataclass(frozen=True, slots=True)
class _ChunkLayout:
    """How a family of files chains its chunks: a name, a size, then that many bytes."""

    name: str
    first_chunk: int
    name_bytes: int
    size_format: str
    size_includes_header: bool
    alignment: int
    sound_chunk: bytes
    sound_offset: int = 0


_WAV = _ChunkLayout("WAV", 12, 4, "<I", False, 2, b"data")
_BIG_ENDIAN_WAV = _ChunkLayout("WAV", 12, 4, ">I", False, 2, b"data")
_RF64 = _ChunkLayout("RF64", 12, 4, "<I", False, 2, b"data")
_W64 = _ChunkLayout("W64", 40, 16, "<Q", True, 8, b"data")
_AIFF = _ChunkLayout("AIFF", 12, 4, ">I", False, 2, b"SSND", sound_offset=8)
_CAF = _ChunkLayout("CAF", 8, 4, ">q", False, 1, b"data", sound_offset=4)


def examine(stream: BinaryIO) -> Container | None:
    """Tell the kind of a recording file by its first bytes, and how much of its sound is there.

    Returns
    -------
    None when the file is of no kind that this program reads.

    References
    ----------
    RIFF: Multimedia Programming Interface and Data Specifications 1.0, 1991, chapter 2.
    RF64: EBU Tech 3306, 2009. FLAC: RFC 9639. Ogg: RFC 3533. The layouts of W64, AIFF and CAF
    are from memory and checked against files that libsndfile writes.
    """
    file_bytes = os.fstat(stream.fileno()).st_size
    head = stream.read(40)
    if head.startswith(b"fLaC"):
        return Container("FLAC", is_unfinished=_flac_length_unknown(head))
    if head.startswith(b"OggS"):
        return Container("OGG", is_unfinished=not _ogg_is_closed(stream, file_bytes))
    layout = _layout(head)
    if layout is None:
        kind = _measurement_kind(stream)
        return Container(kind) if kind else None
    return _measure_chunks(stream, layout, file_bytes, head)


def _layout(head: bytes) -> _ChunkLayout | None:
    form = head[8:12]
    if form == b"WAVE":
        wave = {b"RIFF": _WAV, b"RIFX": _BIG_ENDIAN_WAV, b"RF64": _RF64, b"BW64": _RF64}
        return wave.get(head[:4])
    if head.startswith(b"FORM") and form in (b"AIFF", b"AIFC"):
        return _AIFF
    if head.startswith(b"riff") and head[24:28] == b"wave":
        return _W64
    return _CAF if head.startswith(b"caff") else None


def _measure_chunks(
    stream: BinaryIO, layout: _ChunkLayout, file_bytes: int, head: bytes
) -> Container:
    header_bytes = layout.name_bytes + struct.calcsize(layout.size_format)
    position = layout.first_chunk
    long_size: int | None = None
    while position + header_bytes <= file_bytes:
        stream.seek(position)
        header = stream.read(header_bytes)
        (size,) = struct.unpack(layout.size_format, header[layout.name_bytes :])
        content = position + header_bytes
        if layout is _RF64 and header.startswith(b"ds64"):
            # The 64-bit sizes: whole file first, then the sound.
            long_size = struct.unpack("<QQ", stream.read(16).ljust(16, b"\0"))[1]
        if header.startswith(layout.sound_chunk):
            if layout is _RF64 and size == 0xFFFF_FFFF and long_size is not None:
                size = long_size
            if layout.size_includes_header:
                size -= header_bytes
            return _sound_chunk(layout, size, file_bytes - content, head, file_bytes)
        if size < 0:
            break
        end = position + size if layout.size_includes_header else content + size
        # A size smaller than its own header would make the walk stand still.
        position = max(-(-end // layout.alignment) * layout.alignment, content)
    return Container(layout.name)


def _sound_chunk(
    layout: _ChunkLayout, size: int, rest: int, head: bytes, file_bytes: int
) -> Container:
    if layout is _CAF and size == -1:
        # The format's own way to say: up to the end of the file.
        size = rest
    past_end = 0
    is_unfinished = False
    if layout is _WAV or layout is _BIG_ENDIAN_WAV:
        (whole,) = struct.unpack(layout.size_format, head[4:8])
        past_end = max(0, file_bytes - (8 + whole + whole % 2))
        is_unfinished = size in _UNFINISHED_SIZES and rest > 0 and (size > 0 or past_end > 0)
    elif layout is _RF64:
        is_unfinished = size in _UNFINISHED_SIZES and rest > 0
    return Container(
        layout.name,
        promised_bytes=max(size - layout.sound_offset, 0),
        held_bytes=max(rest - layout.sound_offset, 0),
        is_unfinished=is_unfinished,
        bytes_after_end=past_end,
    )


def _flac_length_unknown(head: bytes) -> bool:
    # RFC 9639, 8.2: the stream's length is the lowest 36 bits of bytes 18 to 25; 0 is unknown.
    return len(head) < 26 or int.from_bytes(head[18:26]) & 0xF_FFFF_FFFF == 0


def _ogg_is_closed(stream: BinaryIO, file_bytes: int) -> bool:
    """Whether the last page is whole and carries the end-of-stream flag (RFC 3533, 6)."""
    stream.seek(max(0, file_bytes - _LARGEST_OGG_PAGE))
    tail = stream.read()
    page = tail[tail.rfind(b"OggS") :]
    if len(page) < 27 or len(page) < 27 + page[26]:
        return False
    page_bytes = 27 + page[26] + sum(page[27 : 27 + page[26]])
    return bool(page[5] & 0x04) and len(page) >= page_bytes


def _measurement_kind(stream: BinaryIO) -> str | None:
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
