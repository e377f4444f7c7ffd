"""Numbers and names of things in words, the same in every sentence."""

from collections.abc import Sequence


def counted(number: int, noun: str) -> str:
    """Say how many there are, such as ``1 set`` and ``2 sets``."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def listed(names: Sequence[str], joint: str = "and") -> str:
    """Join names as in a sentence; ``none`` without any."""
    if len(names) < 2:
        return "".join(names) or "none"
    return f"{', '.join(names[:-1])} {joint} {names[-1]}"


def spoken(key: str) -> str:
    """Return an attribute's key as it is said, such as ``pattern whine``."""
    return key.replace("_", " ")


def lowered(text: str) -> str:
    """Return a sentence or a title as it stands inside another sentence: its first letter only."""
    return f"{text[:1].lower()}{text[1:]}"


def raised(text: str) -> str:
    """Return words as they begin a sentence: what follows may be a name."""
    return f"{text[:1].upper()}{text[1:]}"


def remaining_words(seconds: float | None) -> str:
    """Say a remaining time in seconds; nothing as long as it cannot be told."""
    if seconds is None:
        return ""
    if seconds < 60:
        return f"about {max(1, round(seconds))} s left"
    return f"about {counted(round(seconds / 60), 'minute')} left"
