"""How long work on a study tells how far it has got."""

from collections.abc import Callable

#: Called with the part done (0 to 1) and what is being done; raises Cancelled to stop the work.
Progress = Callable[[float, str], None]


def quiet(_part: float, _words: str) -> None:
    """Report progress to nobody."""
