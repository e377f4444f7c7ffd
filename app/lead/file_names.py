"""Names of files and folders made from what the lead wrote."""

#: Not allowed in a name on one of the systems that a study may travel to.
_FORBIDDEN = frozenset('<>:"/\\|?*')
_LONGEST = 80


def safe_name(words: str, otherwise: str = "study") -> str:
    """Return words as a name that every system takes and that never leads out of its folder."""
    kept = "".join("-" if letter in _FORBIDDEN else letter for letter in words)
    readable = "".join(letter for letter in kept if letter.isprintable())
    return readable.strip(" .")[:_LONGEST].rstrip(" .") or otherwise
