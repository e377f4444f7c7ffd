"""The colours of a written page, and tints on which its words stay readable."""

from dataclasses import dataclass
from functools import lru_cache

#: A deviation of this many points or more gets the strongest tint; ours.
FULL_DEVIATION = 1.5
_LEAST_CONTRAST = 4.6
_MOST_SHARE = 0.8


@dataclass(frozen=True, slots=True)
class PageColours:
    """The colours of a page as ``#RRGGBB``.

    Attributes
    ----------
    higher, lower
        Tinting deviations above and below the panel.
    """

    ground: str
    panel: str
    line: str
    tick: str
    text: str
    soft_text: str
    higher: str
    lower: str
    attention: str
    attention_tint: str


LIGHT_PAGE = PageColours(
    ground="#F4F3F0",
    panel="#FFFFFF",
    line="#D9D6D0",
    tick="#B9B5AD",
    text="#23221F",
    soft_text="#5E5B55",
    higher="#1F5A96",
    lower="#B8690B",
    attention="#7A3B69",
    attention_tint="#F5E8F1",
)
DARK_PAGE = PageColours(
    ground="#1B1C1E",
    panel="#242629",
    line="#3A3D41",
    tick="#5A5E64",
    text="#ECEAE6",
    soft_text="#A9A69F",
    higher="#7FB4EA",
    lower="#F0AE55",
    attention="#D59AC6",
    attention_tint="#3A2935",
)


def deviation_tint(
    deviation: float, colours: PageColours, full_deviation: float = FULL_DEVIATION
) -> str:
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
