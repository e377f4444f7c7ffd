"""The colours of the program, each with one meaning, and tints on which words stay readable."""

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from ratings.study.listening import Side

SchemeName = Literal["light", "dark"]

#: A deviation of this many points or more gets the strongest tint; ours.
FULL_DEVIATION = 1.5
_LEAST_CONTRAST = 4.6
_MOST_SHARE = 0.8


@dataclass(frozen=True, slots=True)
class Theme:
    """Every colour that windows and written pages draw with, as ``#RRGGBB``.

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

    @property
    def higher(self) -> str:
        """Colour of deviations above the panel."""
        return self.side_a

    @property
    def lower(self) -> str:
        """Colour of deviations below the panel."""
        return self.side_b

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


def deviation_tint(deviation: float, colours: Theme, full_deviation: float = FULL_DEVIATION) -> str:
    """Return the colour behind a deviation, in score points, written in the text colour.

    The tint grows evenly from the panel's own colour at zero to the strongest at
    `full_deviation`; the strongest still leaves the text a contrast of 4.5:1.
    """
    hue = colours.higher if deviation > 0 else colours.lower
    share = min(abs(deviation) / full_deviation, 1.0)
    return mixed(colours.panel, hue, share * strongest_share(colours.panel, hue, colours.text))


@lru_cache(maxsize=64)
def strongest_share(surface: str, hue: str, text: str) -> float:
    """Return how much of `hue` may be mixed into `surface` while `text` stays readable on it."""
    low, high = 0.0, _MOST_SHARE
    if contrast_ratio(mixed(surface, hue, high), text) >= _LEAST_CONTRAST:
        return high
    for _ in range(20):
        middle = (low + high) / 2
        if contrast_ratio(mixed(surface, hue, middle), text) >= _LEAST_CONTRAST:
            low = middle
        else:
            high = middle
    return low


def mixed(one: str, other: str, share: float) -> str:
    """Return the colour with `share` (0 to 1) of `other` in `one`."""
    pairs = zip(_channels(one), _channels(other), strict=True)
    return "#" + "".join(f"{round(a + (b - a) * share):02X}" for a, b in pairs)


def contrast_ratio(one: str, other: str) -> float:
    """Return the contrast of two colours, from 1 to 21.

    References
    ----------
    W3C, Web Content Accessibility Guidelines 2.2, "contrast ratio" and "relative luminance".
    """
    darker, lighter = sorted((_luminance(one), _luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def _channels(colour: str) -> tuple[int, int, int]:
    red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return red, green, blue


def _luminance(colour: str) -> float:
    linear = [
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4
        for c in (channel / 255 for channel in _channels(colour))
    ]
    return float(0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2])
