"""Data sets of type 58 in a universal file: where they are and what their headers say."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from os import SEEK_END
from typing import BinaryIO, Literal

import numpy as np

_MARK_START = b"\n    -1"
_MARK = re.compile(rb"\n {4}-1[ \t]*\r?\n")
_CLOSING = re.compile(rb"[\r\n]{0,2} {4}-1")
_LONGEST_CLOSING = 8
_LONGEST_MARK = 100
_FILLING = b" \t\r\n\0\x1a"
"""What writers leave behind the last data set; the last is the old end-of-file sign."""
_MOST_SETS = 20_000
_FIRST_BLOCK_BYTES = 2**12
_BLOCK_BYTES = 2**20
_TYPES = {2: "f4", 4: "f8", 5: "c8", 6: "c16"}
_BYTE_ORDERS: dict[int, Literal["<", ">"]] = {1: "<", 2: ">"}
_IEEE_754 = 2
_TIME_RESPONSE = 1
_UNKNOWN_FUNCTION = 0
_TIME_AXIS = (17, 0)
_DIRECTIONS = {1: "+X", 2: "+Y", 3: "+Z", -1: "-X", -2: "-Y", -3: "-Z"}


class BadUffError(Exception):
    """A data set whose header does not follow the format; the message says where."""


@dataclass(frozen=True, slots=True)
class UffChannel:
    """One data set of type 58.

    Attributes
    ----------
    name, unit
        Of the response and of its ordinate; empty and None where the file says NONE.
    is_time_history
        A time response with real values on an even time axis.
    spacing_s, count
        Abscissa increment and number of values by the header.
    dtype
        Of the stored values; None for values written as text.
    is_double
        Whether the values have double precision.
    start_byte, stop_byte
        Where the values stand; the end is that of the file where it was cut off.
    is_closed
        Whether the closing mark follows the values.
    """

    name: str
    unit: str | None
    is_time_history: bool
    spacing_s: float
    count: int
    dtype: np.dtype[np.generic] | None
    is_double: bool
    start_byte: int
    stop_byte: int
    is_closed: bool


def uff_channels(stream: BinaryIO) -> Iterator[UffChannel]:
    """Find the data sets of type 58 in a universal file, in the order of the file.

    Raises
    ------
    BadUffError
        When a header does not follow the format, or a part of the file is no data set.

    References
    ----------
    Universal File Format, data sets 58 and 58b, University of Cincinnati, Structural Dynamics
    Research Laboratory (records 1 to 12, notes on the binary form).
    """
    mark = _next_mark(stream, 0)
    is_closed = True
    sets = 0
    while mark is not None:
        sets += 1
        if sets > _MOST_SETS:
            raise BadUffError("it is cut into more data sets than any recorder writes")
        position = mark[1]
        stream.seek(position)
        if stream.read(6).strip() == b"58":
            channel = _channel(stream, position)
            yield channel
            is_closed = channel.is_closed
            # The mark of a binary set follows its last value on the same line.
            position = channel.stop_byte
            position += len(_closing(stream, position))
        else:
            closing = _next_mark(stream, position)
            if closing is None:
                # Its partner was overwritten, and with it a data set that nobody would miss.
                raise BadUffError("the marks that open and close its data sets do not pair up")
            position, is_closed = closing[1], True
        mark = _next_mark(stream, position)
        if mark is None and is_closed:
            _refuse_rest(stream, position)


def _refuse_rest(stream: BinaryIO, position: int) -> None:
    # A data set whose opening mark was overwritten would be missed without a word.
    stream.seek(position)
    if stream.read(_BLOCK_BYTES).strip(_FILLING):
        raise BadUffError("its last data set is followed by something else")


def _next_mark(stream: BinaryIO, position: int) -> tuple[int, int] | None:
    """Find the next line that opens or closes a data set: its first byte and that behind it."""
    start = max(position - 1, 0)
    before = b"" if position else b"\n"
    wanted = _FIRST_BLOCK_BYTES
    while True:
        stream.seek(start)
        block = stream.read(wanted)
        is_last = len(block) < wanted
        searched = before + block + (b"\n" if is_last else b"")
        at = searched.find(_MARK_START)
        while at >= 0:
            if found := _MARK.match(searched, at):
                shift = start - len(before)
                return found.start() + 1 + shift, found.end() + shift
            at = searched.find(_MARK_START, at + 1)
        if is_last:
            return None
        start += len(block) - _LONGEST_MARK
        before = b""
        # A file of many short data sets would be read over and over in long blocks.
        wanted = min(4 * wanted, _BLOCK_BYTES)


def _closing(stream: BinaryIO, position: int) -> bytes:
    stream.seek(position)
    found = _CLOSING.match(stream.read(_LONGEST_CLOSING))
    return found[0] if found else b""


def _channel(stream: BinaryIO, position: int) -> UffChannel:
    stream.seek(position)
    # Latin 1 is what the writers of this format use for m/s² and the like.
    lines = [stream.readline(200).decode("latin-1").rstrip("\r\n") for _ in range(12)]
    start = stream.tell()
    try:
        return _from_header(stream, lines, start)
    except (ValueError, KeyError, IndexError, OverflowError) as error:
        raise BadUffError("its header does not follow the format") from error


def _from_header(stream: BinaryIO, lines: list[str], start: int) -> UffChannel:
    function = int(lines[6][:5])
    form = lines[7]
    ordinate_type, count, even = int(form[:10]), int(form[10:20]), int(form[20:30])
    # Fortran writes the exponent of a double with a D.
    if count < 0:
        raise ValueError("a negative count of values")
    spacing_s = float(form[43:56].upper().replace("D", "E"))
    stored = np.dtype(_TYPES[ordinate_type])
    is_binary = lines[0][6:7].lower() == "b"
    stop = _values_end(stream, lines[0], start)
    return UffChannel(
        name=_name(lines),
        unit=_label(lines[9][47:]),
        is_time_history=(
            function in (_TIME_RESPONSE, _UNKNOWN_FUNCTION)
            and int(lines[8][:10]) in _TIME_AXIS
            and even == 1
            and stored.kind == "f"
        ),
        spacing_s=spacing_s,
        count=count,
        dtype=stored.newbyteorder(_byte_order(lines[0])) if is_binary else None,
        is_double=ordinate_type in (4, 6),
        start_byte=start,
        stop_byte=stop,
        is_closed=bool(_closing(stream, stop)),
    )


def _byte_order(identifier: str) -> Literal["<", ">"]:
    if int(identifier[13:19]) != _IEEE_754:
        raise BadUffError("its numbers are not stored as IEEE 754")
    return _BYTE_ORDERS[int(identifier[7:13])]


def _values_end(stream: BinaryIO, identifier: str, start: int) -> int:
    file_end = stream.seek(0, SEEK_END)
    if identifier[6:7].lower() == "b":
        stop = start + int(identifier[31:43])
        if stop < start:
            raise ValueError("a negative count of bytes")
        return min(stop, file_end)
    closing = _next_mark(stream, start)
    return file_end if closing is None else closing[0]


def _name(lines: list[str]) -> str:
    response = lines[6][31:]
    entity, node, direction = _label(response[:10]), int(response[10:20]), int(response[20:24])
    if entity is None:
        return _label(lines[1]) or ""
    place = f" {node}{_DIRECTIONS.get(direction, '')}" if node else ""
    return entity + place


def _label(text: str) -> str | None:
    text = text.strip()
    return None if text.upper() in ("", "NONE") else text
