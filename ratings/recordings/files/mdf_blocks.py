"""The blocks of an MDF 4 file and their links, checked before its library trusts them."""

import struct
from collections.abc import Iterator
from os import SEEK_END
from typing import BinaryIO

_FIRST_BLOCK = 64
_HEAD = struct.Struct("<2s2s4xQQ")
_MOST_LINKS = 2**20
_REFERRING = (b"CH", b"EV", b"AT")
"""Blocks whose links point at others by way of comment, also back up."""
_OWN_LINKS = {b"CN": 8, b"CA": 1}
"""Links by which these blocks own others; those behind them refer to other channels."""


class BadMdfError(Exception):
    """A block that lies outside the file, is none, or owns a block that owns it."""


def check_mdf_blocks(stream: BinaryIO) -> None:
    """Walk every block that can be reached from the header.

    Raises
    ------
    BadMdfError
        When the file was cut off, or its links lead nowhere or in a circle.

    References
    ----------
    ASAM MDF 4.1, block structure: '##' and two letters, length, count of links, links; from
    memory, checked against files that asammdf writes.
    """
    file_bytes = stream.seek(0, SEEK_END)
    open_blocks = {_FIRST_BLOCK}
    done: set[int] = set()
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


def _links(stream: BinaryIO, position: int, file_bytes: int) -> Iterator[int]:
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
