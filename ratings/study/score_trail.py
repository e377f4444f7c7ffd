"""What stood on one side of an attribute before, so that a change can be taken back."""

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Given:
    """A score as it stood.

    Attributes
    ----------
    value
        None while the side was untouched.
    said_equal
        Whether it was given by "no difference".
    act
        What was given in one act, as both sides are by "no difference", bears the same mark.
    """

    value: float | None = None
    said_equal: bool = False
    act: str = ""


@dataclass(slots=True)
class ScoreTrail:
    """The scores of one side of an attribute in the order in which they were given.

    A score that brings back what stood before the last one counts as taking the last one back, so
    that rows that are only ever added tell the trail again when a session is reopened.
    """

    _given: list[Given] = field(default_factory=lambda: [Given()])

    @property
    def last(self) -> Given:
        """What stands now."""
        return self._given[-1]

    @property
    def before(self) -> Given | None:
        """What stood before; None at the beginning."""
        return self._given[-2] if len(self._given) > 1 else None

    def take(self, given: Given) -> None:
        """Let a score count."""
        if self.before is not None and self._goes_back_to(self.before, given):
            self._given.pop()
        elif not _alike(self.last, given):
            self._given.append(given)

    def _goes_back_to(self, before: Given, given: Given) -> bool:
        # Where one side goes back to "no difference" and the other does not, neither is marked.
        return _alike(before, given) or (self.last.said_equal and before.value == given.value)


def _alike(one: Given, other: Given) -> bool:
    return (one.value, one.said_equal) == (other.value, other.said_equal)
