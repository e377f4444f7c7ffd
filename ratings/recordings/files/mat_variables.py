"""Variables of a MAT file of level 5: names, sizes and values, read without trusting its counts.

scipy's reader of this format was tried first: a damaged file can crash the whole program in it.
"""

import struct
import zlib
from dataclasses import dataclass
from os import SEEK_END
from typing import BinaryIO, NamedTuple

import numpy as np
import numpy.typing as npt

_HEADER_BYTES = 128
_MATRIX, _COMPRESSED = 14, 15
_STORED = {
    1: "i1",
    2: "u1",
    3: "i2",
    4: "u2",
    5: "i4",
    6: "u4",
    7: "f4",
    9: "f8",
    12: "i8",
    13: "u8",
    16: "u1",
    17: "u2",
    18: "u4",
}
_CLASSES = {
    1: "cell",
    2: "struct",
    3: "object",
    4: "char",
    5: "sparse",
    6: "float64",
    7: "float32",
    8: "int8",
    9: "uint8",
    10: "int16",
    11: "uint16",
    12: "int32",
    13: "uint32",
    14: "int64",
    15: "uint64",
}
_NUMBER_CLASSES = range(6, 16)
_LOGICAL, _COMPLEX = 0x0200, 0x0800
_LARGEST_VALUE = 8
"""Bytes of the widest number."""
_LONGEST_HEAD = 4_096
_MOST_DIMENSIONS = 32


class BadMatError(Exception):
    """A file that ends early or breaks the format."""


@dataclass(frozen=True, slots=True)
class MatVariable:
    """A variable and where its values stand.

    Attributes
    ----------
    name, shape
        As stored, column by column.
    class_name
        Name of the number type, or ``char``, ``cell``, ``struct`` and the like.
    is_real
        Whether its values are real numbers.
    position, length
        Bytes of the variable in the file, without its tag.
    is_compressed
        Whether these have to be decompressed.
    values_at
        Place of the values behind the start of the variable, when decompressed.
    """

    name: str
    shape: tuple[int, ...]
    class_name: str
    is_real: bool
    position: int
    length: int
    is_compressed: bool
    values_at: int

    @property
    def size(self) -> int:
        """Number of values."""
        size = 1
        for side in self.shape:
            size *= side
        return size


class _Tag(NamedTuple):
    kind: int
    length: int
    is_small: bool


class MatFile:
    """The variables of a MAT file that is open for reading.

    Raises
    ------
    BadMatError
        When the file was cut off or breaks the format; also from `values`.

    References
    ----------
    MAT-File Format, level 5: tags and small elements (tables 1-1 to 1-3), array elements.
    """

    def __init__(self, stream: BinaryIO) -> None:
        self._stream = stream
        self._file_bytes = stream.seek(0, SEEK_END)
        stream.seek(126)
        self._order = "<" if stream.read(2) == b"IM" else ">"
        self.variables = self._variables()

    def values(self, variable: MatVariable) -> npt.NDArray[np.generic]:
        """Read the values of a variable of numbers or characters, in its shape."""
        self._stream.seek(variable.position)
        content = self._stream.read(variable.length)
        if variable.is_compressed:
            content = _decompressed(
                content, variable.values_at + 16 + _LARGEST_VALUE * variable.size
            )
        tag = self._tag(content, variable.values_at)
        start = variable.values_at + (4 if tag.is_small else 8)
        if tag.kind not in _STORED or start + tag.length > len(content):
            raise BadMatError
        stored = np.dtype(_STORED[tag.kind]).newbyteorder("<" if self._order == "<" else ">")
        if tag.length != variable.size * stored.itemsize:
            raise BadMatError
        values = np.frombuffer(content, stored, variable.size, start)
        return values.reshape(variable.shape, order="F")

    def _variables(self) -> list[MatVariable]:
        found = []
        position = _HEADER_BYTES
        while position < self._file_bytes:
            self._stream.seek(position)
            tag = self._tag(self._stream.read(8), 0)
            position += 8
            if tag.is_small or position + tag.length > self._file_bytes:
                raise BadMatError
            if tag.kind in (_MATRIX, _COMPRESSED):
                found.append(self._variable(position, tag))
            position += tag.length
            if tag.kind != _COMPRESSED:
                position += -tag.length % 8
        return found

    def _variable(self, position: int, tag: _Tag) -> MatVariable:
        is_compressed = tag.kind == _COMPRESSED
        head = self._stream.read(min(tag.length, _LONGEST_HEAD))
        at = 0
        if is_compressed:
            try:
                head = zlib.decompressobj().decompress(head, _LONGEST_HEAD)
            except zlib.error as error:
                raise BadMatError from error
            if self._tag(head, 0).kind != _MATRIX:
                raise BadMatError
            at = 8
        flags, at = self._part(head, at)
        dimensions, at = self._part(head, at)
        name, at = self._part(head, at)
        shape = struct.unpack(f"{self._order}{len(dimensions) // 4}i", _whole(dimensions))
        if len(flags) < 4 or len(shape) > _MOST_DIMENSIONS or min(shape, default=0) < 0:
            raise BadMatError
        (word,) = struct.unpack(f"{self._order}I", flags[:4])
        number = word & 0xFF
        return MatVariable(
            name=name.decode("latin-1"),
            shape=shape,
            class_name="logical" if word & _LOGICAL else _CLASSES.get(number, "unknown"),
            is_real=number in _NUMBER_CLASSES and not word & (_COMPLEX | _LOGICAL),
            position=position,
            length=tag.length,
            is_compressed=is_compressed,
            values_at=at,
        )

    def _part(self, content: bytes, at: int) -> tuple[bytes, int]:
        """Give the element at a place, and the place of the next."""
        tag = self._tag(content, at)
        start = at + (4 if tag.is_small else 8)
        end = start + tag.length
        if end > len(content):
            raise BadMatError
        return content[start:end], at + 8 if tag.is_small else end + -end % 8

    def _tag(self, content: bytes, at: int) -> _Tag:
        if at + 8 > len(content):
            raise BadMatError
        kind, length = struct.unpack_from(f"{self._order}2I", content, at)
        if kind >> 16:
            # A small element: its length and type share a word, its content is the other one.
            if kind >> 16 > 4:
                raise BadMatError
            return _Tag(kind & 0xFFFF, kind >> 16, True)
        return _Tag(kind, length, False)


def _whole(dimensions: bytes) -> bytes:
    return dimensions[: len(dimensions) // 4 * 4]


def _decompressed(content: bytes, most_bytes: int) -> bytes:
    """Unpack a variable, and no more of it than its own size allows."""
    decompressor = zlib.decompressobj()
    try:
        found = decompressor.decompress(content, most_bytes + 1)
    except (zlib.error, MemoryError, OverflowError) as error:
        raise BadMatError from error
    if not decompressor.eof or len(found) > most_bytes:
        raise BadMatError
    return found
