"""Tells a key that is held down from one that is pressed again."""

from PySide6.QtGui import QKeyEvent


class HeldKeys:
    """Follows the presses and releases of one screen.

    Under X11 a held key may come as releases and presses that Qt does not mark as repeated, each
    pair at one instant (seen with Qt 6.11 and Xvfb, 21 of 21 repeats): nobody presses that fast.
    """

    def __init__(self) -> None:
        self._released = (0, 0)

    def take_release(self, event: QKeyEvent) -> None:
        """Let the release of a key count."""
        self._released = (event.key(), event.timestamp())

    def is_held(self, event: QKeyEvent) -> bool:
        """Tell whether a press comes from a key that was not let go."""
        if event.isAutoRepeat():
            return True
        return event.timestamp() > 0 and (event.key(), event.timestamp()) == self._released
