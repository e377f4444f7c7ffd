"""Whether the other process still lives, told by a counter that it keeps counting up."""


class Pulse:
    """Watches a counter.

    Parameters
    ----------
    longest_s
        A counter that stands still for longer has stopped.
    is_expected
        Whether the counter counts from the start; else nothing is said of one that never counted.

    Attributes
    ----------
    has_counted
        Whether it was seen to count since the last rest.
    """

    def __init__(self, longest_s: float, *, is_expected: bool = False) -> None:
        self._longest_s = longest_s
        self._is_expected = is_expected
        self._count: int | None = None
        self._counted_s = 0.0
        self._looked_s = 0.0
        self.has_counted = False

    def rest(self) -> None:
        """Forget what was seen: the counter may stand still until it counts again."""
        self._count = None
        self.has_counted = False

    def has_stopped(self, count: int, now_s: float) -> bool:
        """Look once; to be called several times within `longest_s`."""
        # Whoever was held up too, as on a sleeping computer, has not seen the other one count.
        was_held_up = now_s - self._looked_s > self._longest_s
        self._looked_s = now_s
        if count != self._count:
            self.has_counted = self._is_expected or self._count is not None
            self._count = count
            self._counted_s = now_s
        elif was_held_up:
            self._counted_s = now_s
        return self.has_counted and now_s - self._counted_s > self._longest_s
