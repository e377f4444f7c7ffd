"""The order in which names are shown."""

import re


def by_number(name: str) -> list[tuple[int, int, str]]:
    """Return a sorting key that puts E2 before E10."""
    parts = re.split(r"(\d+)", name)
    return [(0, int(part), "") if part.isdecimal() else (1, 0, part) for part in parts]
