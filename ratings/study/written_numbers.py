"""Numbers as people write them: either decimal mark is understood, and nothing is guessed."""

import math
import re
from collections.abc import Collection
from decimal import Decimal

from ratings.errors import NumberError

#: Digits in threes, parted by one kind of space or apostrophe: ISO 80000-1 (2009), 7.3.1, and
#: common practice in Switzerland. A comma or a point parts nothing: it is the decimal mark.
_GROUPED = r"[0-9]{1,3}(?P<gap>[ '])[0-9]{3}(?:(?P=gap)[0-9]{3})*"
_NUMBER = re.compile(
    rf"[+-]?(?:(?:{_GROUPED}|[0-9]+)(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+-]?[0-9]+)?"
)
_MARKS = re.compile(r"[.,]")
#: No-break spaces become spaces, the minus sign (U+2212) a hyphen, a raised comma an apostrophe.
_PLAIN = str.maketrans(
    {"\u00a0": " ", "\u2007": " ", "\u2009": " ", "\u202f": " ", "\u2212": "-", "\u2019": "'"}
)
_LONGEST_SHOWN = 30


def read_number(text: str, units: Collection[str] = ()) -> float:
    """Read one number: 1.25 and 1,25 are the same, 1 250 and 1'250 are 1250.

    A lone comma or point is the decimal mark, so that 1,234 is 1.234.

    Parameters
    ----------
    units
        Words of which one may follow the number.

    Raises
    ------
    NumberError
        For two marks (``1.234,5``: it can be read in more than one way), for text that is no
        number or holds more than one, and for what no number holds (``nan``, ``1e999``).
    """
    plain = text.translate(_PLAIN).strip()
    bare = _without_unit(plain, units)
    if _NUMBER.fullmatch(bare) is None:
        raise _unreadable(text, bare)
    value = float(bare.replace(" ", "").replace("'", "").replace(",", "."))
    if not math.isfinite(value):
        raise NumberError(f'"{_shown(text)}" is too large a number.', "Write a smaller one.")
    return value


def read_whole_number(text: str) -> int:
    """Read one whole number, such as 8 or 48 000.

    Raises
    ------
    NumberError
        As `read_number`, and for a fraction: 1,250 is not taken for 1250.
    """
    value = read_number(text)
    if not value.is_integer():
        raise NumberError(f'"{_shown(text)}" is not a whole number.', "Write it without a mark.")
    return int(value)


def with_plain_negative(word: str) -> str:
    """Write a negative number as a shell's parser knows it: -0,5 and -5e-1 as -0.5."""
    if not word.startswith(("-", "\u2212")):
        return word
    try:
        return format(Decimal(repr(read_number(word))), "f")
    except NumberError:
        return word


def _without_unit(plain: str, units: Collection[str]) -> str:
    for unit in sorted(units, key=len, reverse=True):
        wanted = unit.translate(_PLAIN).strip()
        if wanted and plain.casefold().endswith(wanted.casefold()):
            return plain[: -len(wanted)].rstrip()
    return plain


def _unreadable(text: str, bare: str) -> NumberError:
    shown = _shown(text)
    if not bare:
        return NumberError("There is no number.", "Write one, such as 1.25 or 1,25.")
    rest = _MARKS.sub("", bare)
    if len(_MARKS.findall(bare)) > 1 and _NUMBER.fullmatch(rest) is not None:
        return NumberError(
            f'"{shown}" can be read in more than one way.',
            "Write one decimal mark and no other, such as 1234.5 or 1234,5.",
        )
    return NumberError(f'"{shown}" is not a number.', "Write one, such as 1.25 or 1,25.")


def _shown(text: str) -> str:
    stripped = text.strip()
    return stripped if len(stripped) <= _LONGEST_SHOWN else f"{stripped[: _LONGEST_SHOWN - 3]}..."
