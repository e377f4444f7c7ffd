"""Text of any origin, made fit to be written into a page."""

import re
import unicodedata

#: What stands for a character that cannot be written.
STAND_IN = "\N{REPLACEMENT CHARACTER}"
#: Overrides of direction would turn the words that follow around.
_DIRECTION = dict.fromkeys([*range(0x202A, 0x202F), *range(0x2066, 0x206A), 0x200E, 0x200F])
_LONG_WORD = re.compile(r"\S{25,}")
_BREAK = "\N{ZERO WIDTH SPACE}"
#: An accent stays with its letter.
_PIECE = re.compile(r".{1,12}[\u0300-\u036f\ufe0f\u200d]*")


def safe_text(text: str) -> str:
    """Return the text without control characters; line breaks stay, tabs become spaces."""
    lines = text.translate(_DIRECTION).replace("\r\n", "\n").replace("\r", "\n")
    return "".join(_safe(character) for character in lines)


def _safe(character: str) -> str:
    if character == "\n":
        return character
    if character in "\t\u2028\u2029":
        return " "
    code = ord(character)
    is_no_character = code & 0xFFFE == 0xFFFE or 0xFDD0 <= code <= 0xFDEF
    # Controls, halves of surrogate pairs, and the codes that will never be characters.
    if is_no_character or unicodedata.category(character) in {"Cc", "Cs"}:
        return STAND_IN
    return character


def breakable(text: str) -> str:
    """Return the text with places to break in words that are too long for a line."""
    return _LONG_WORD.sub(lambda word: _pieces(word.group()), text)


def _pieces(word: str) -> str:
    return _BREAK.join(_PIECE.findall(word))
