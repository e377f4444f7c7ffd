"""The blocks of an MDF 4 file and their links, checked before its library trusts them."""

import struct
import zlib
from collections.abc import Iterator
from os import SEEK_END
from typing import BinaryIO

_FIRST_BLOCK = 64
_HEAD = struct.Struct("<2s2s4xQQ")
_MOST_LINKS = 2**20
_PACKED = struct.Struct("<2sBxIQQ")
"""Of a DZ block behind its head: what is packed, how, a parameter, bytes unpacked and packed."""
_DEFLATED = (0, 1)
_MOST_SWELLING = 1_032
"""Deflate cannot do more (zlib.net/zlib_tech.html, from memory)."""
_NO_BURDEN_BYTES = 2**26
"""What a block may swell to without being looked at."""
_REFERRING = (b"CH", b"EV", b"AT")
"""Blocks whose links point at others by way of comment, also back up."""
_OWN_LINKS = {b"CN": 8, b"CA": 1}
"""Links by which these blocks own others; those behind them refer to other channels."""


class BadMdfError(Exception):
    """A block that lies outside the file, is none, or owns a block that owns it."""


def check_mdf_blocks(stream: BinaryIO) -> int:
    """Walk every block that can be reached from the header.

    Returns
    -------
    How many bytes its packed blocks hold when they are unpacked.

    Raises
    ------
    BadMdfError
        When the file was cut off, its links lead nowhere or in a circle, or a packed block holds
        more than it says.

    References
    ----------
    ASAM MDF 4.1, block structure: '##' and two letters, length, count of links, links; from
    memory, checked against files that asammdf writes.
    """
    file_bytes = stream.seek(0, SEEK_END)
    open_blocks = {_FIRST_BLOCK}
    done: set[int] = set()
    unpacked_bytes = 0
    trail = [(_FIRST_BLOCK, _links(stream, _FIRST_BLOCK, file_bytes))]
    while trail:
        block, links = trail[-1]
        target = next(links, None)
        if target is None:
            trail.pop()
            open_blocks.discard(block)
            done.add(block)
        elif target in open_blocks:
            raise BadMdfError
        elif target not in done:
            open_blocks.add(target)
            trail.append((target, _links(stream, target, file_bytes)))
            unpacked_bytes += _unpacked_bytes(stream, target)
    return unpacked_bytes


def _links(stream: BinaryIO, position: int, file_bytes: int) -> Iterator[int]:
    if position >= file_bytes:
        raise BadMdfError
    stream.seek(position)
    head = stream.read(_HEAD.size)
    if len(head) < _HEAD.size:
        raise BadMdfError
    mark, kind, length, count = _HEAD.unpack(head)
    if mark != b"##" or position + length > file_bytes or count > _MOST_LINKS:
        raise BadMdfError
    if _HEAD.size + 8 * count > length:
        raise BadMdfError
    links = struct.unpack(f"<{count}Q", stream.read(8 * count))
    owned = () if kind in _REFERRING else links[: _OWN_LINKS.get(kind, count)]
    return iter([link for link in owned if link])


def _unpacked_bytes(stream: BinaryIO, position: int) -> int:
    """Give the size of a packed block when unpacked, 0 for any other; never more than it says."""
    stream.seek(position)
    if not stream.read(4).endswith(b"DZ"):
        return 0
    stream.seek(position + _HEAD.size)
    head = stream.read(_PACKED.size)
    if len(head) < _PACKED.size:
        raise BadMdfError
    _, how, _, unpacked, packed = _PACKED.unpack(head)
    if how in _DEFLATED and packed * _MOST_SWELLING > _NO_BURDEN_BYTES:
        try:
            found = zlib.decompressobj().decompress(stream.read(packed), unpacked + 1)
        except (zlib.error, OverflowError, MemoryError) as error:
            raise BadMdfError from error
        if len(found) > unpacked:
            raise BadMdfError
    return int(unpacked)
