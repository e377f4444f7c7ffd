"""Names of files and folders made from what the lead wrote."""

import re

#: Not allowed in a name on one of the systems that a study may travel to.
_FORBIDDEN = frozenset('<>:"/\\|?*')
_LONGEST = 80
#: Of the 255 bytes that a disk takes for a name; the rest is for an ending.
_MOST_BYTES = 200
#: Names of devices on Windows, whatever ending stands behind them.
_RESERVED = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\.|$)", re.IGNORECASE | re.ASCII)


def safe_name(words: str, otherwise: str = "study") -> str:
    """Return words as a name that every system takes and that never leads out of its folder."""
    kept = "".join("-" if letter in _FORBIDDEN else letter for letter in words)
    readable = "".join(letter for letter in kept if letter.isprintable())
    short = readable.strip(" .")[:_LONGEST].encode()[:_MOST_BYTES].decode(errors="ignore")
    name = short.rstrip(" .") or otherwise
    return f"{name[:3]}-{name[3:]}" if _RESERVED.match(name) else name
