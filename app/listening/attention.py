"""Sound that nobody attends to comes to rest: an empty chair is no listening time."""

from PySide6.QtCore import QEvent, QObject, QTimer, Signal

from app.listening.pair_player import PairPlayer

#: So long the sound plays on without a key, a click or a movement of the pointer (our judgement).
LONGEST_UNATTENDED_S = 120
_ACTS = frozenset(
    {
        QEvent.Type.KeyPress,
        QEvent.Type.MouseMove,
        QEvent.Type.MouseButtonPress,
        QEvent.Type.Wheel,
        QEvent.Type.TouchBegin,
    }
)


class Attention(QObject):
    """Pauses a player when no act has come for a while; an event filter for a window's handle.

    Signals
    -------
    changed
        It has paused the player, or somebody plays on.

    Attributes
    ----------
    has_paused
        Whether the player rests because nobody attended to it.
    """

    changed = Signal()

    def __init__(self, player: PairPlayer, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.has_paused = False
        self._player = player
        self._timer = QTimer(self, singleShot=True, interval=1000 * LONGEST_UNATTENDED_S)
        self._timer.timeout.connect(self._pause)

    def follow(self) -> None:
        """Take up a new state of the player."""
        if not self._player.is_playing:
            self._timer.stop()
            return
        if not self._timer.isActive():
            self._timer.start()
        if self.has_paused:
            self.has_paused = False
            self.changed.emit()

    def note_act(self) -> None:
        """Take it that somebody is there."""
        if self._timer.isActive():
            self._timer.start()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Notice keys, clicks and movements, and let all of them through."""
        if event.type() in _ACTS:
            self.note_act()
        return super().eventFilter(watched, event)

    def _pause(self) -> None:
        self._player.pause()
        self.has_paused = True
        self.changed.emit()
