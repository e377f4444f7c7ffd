"""The colours of the program, light and dark, each with one meaning."""

from dataclasses import dataclass
from typing import Literal

Side = Literal["A", "B"]
SchemeName = Literal["light", "dark"]

_CHANNEL_KNEE = 0.04045


@dataclass(frozen=True, slots=True)
class Theme:
    """Every colour that the program draws with, as ``#RRGGBB``.

    Text stands in ``text``, ``soft_text``, ``side_a``, ``side_b_text``, ``attention`` or ``done``;
    the other colours are for surfaces, lines and shapes.
    """

    name: SchemeName
    ground: str
    panel: str
    button: str
    line: str
    tick: str
    rail: str
    text: str
    soft_text: str
    side_a: str
    side_a_tint: str
    side_b: str
    side_b_text: str
    side_b_tint: str
    attention: str
    attention_tint: str
    done: str
    done_tint: str
    accent: str
    on_accent: str

    def side(self, side: Side) -> str:
        """Colour of a side's shapes and lines."""
        return self.side_a if side == "A" else self.side_b

    def side_text(self, side: Side) -> str:
        """Colour of a side's words and figures."""
        return self.side_a if side == "A" else self.side_b_text

    def side_tint(self, side: Side) -> str:
        """Surface behind the side that sounds."""
        return self.side_a_tint if side == "A" else self.side_b_tint


LIGHT = Theme(
    name="light",
    ground="#F4F3F0",
    panel="#FFFFFF",
    button="#E6E3DD",
    line="#D9D6D0",
    tick="#B9B5AD",
    rail="#85817A",
    text="#23221F",
    soft_text="#5E5B55",
    side_a="#1F5A96",
    side_a_tint="#E6EDF7",
    side_b="#B8690B",
    side_b_text="#8F5207",
    side_b_tint="#FAEEDD",
    attention="#7A3B69",
    attention_tint="#F5E8F1",
    done="#2F6B4F",
    done_tint="#E4F0EA",
    accent="#1F5A96",
    on_accent="#FFFFFF",
)

DARK = Theme(
    name="dark",
    ground="#1B1C1E",
    panel="#242629",
    button="#34373B",
    line="#3A3D41",
    tick="#5A5E64",
    rail="#7C8087",
    text="#ECEAE6",
    soft_text="#A9A69F",
    side_a="#7FB4EA",
    side_a_tint="#20344A",
    side_b="#F0AE55",
    side_b_text="#F0AE55",
    side_b_tint="#3B2E1C",
    attention="#D59AC6",
    attention_tint="#3A2935",
    done="#86C9A6",
    done_tint="#20352B",
    accent="#7FB4EA",
    on_accent="#1B1C1E",
)


def contrast_ratio(one: str, other: str) -> float:
    """Contrast of two ``#RRGGBB`` colours, from 1 (equal) to 21 (black on white).

    References
    ----------
    W3C, Web Content Accessibility Guidelines 2.2, "contrast ratio" and "relative luminance".
    """
    darker, lighter = sorted((_relative_luminance(one), _relative_luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def _relative_luminance(colour: str) -> float:
    red, green, blue = (_linear(int(colour[i : i + 2], 16) / 255) for i in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(channel: float) -> float:
    if channel <= _CHANNEL_KNEE:
        return channel / 12.92
    return float(((channel + 0.055) / 1.055) ** 2.4)
