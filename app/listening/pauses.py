"""The pages without a pair: the break, the request to stop, and the end of the session."""

from PySide6.QtCore import Qt, QTimer, Signal, SignalInstance
from PySide6.QtGui import QKeyEvent, QShowEvent
from PySide6.QtWidgets import QPushButton, QWidget

from app.listening.exposure_words import stop_words
from app.parts.buttons import PrimaryButton
from app.parts.headings import FindingHeading, SoftLine
from app.parts.held_keys import HeldKeys
from app.parts.layouts import Air, in_column, in_row

_ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter)
#: How long a page is in sight before Enter counts on it: a second Enter meant for the pair before
#: must not take it away unseen (our judgement).
SEEN_MS = 1500


class _QuietPage(QWidget):
    """One finding, a few lines, one or two steps, in the middle of an empty page."""

    left = Signal()

    def __init__(self, held: HeldKeys, *buttons: QWidget) -> None:
        super().__init__()
        self._held = held
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._heading = FindingHeading()
        self._line = SoftLine()
        self._exposure = SoftLine()
        self._keys = SoftLine()
        self._seen = QTimer(self, singleShot=True, interval=SEEN_MS)
        self._seen.timeout.connect(self._tell_keys)
        in_column(
            Air(share=2),
            self._heading,
            self._line,
            self._exposure,
            Air(16),
            in_row(*buttons, Air(share=1), gap_px=12),
            self._keys,
            Air(share=3),
            of=self,
            gap_px=16,
            margins_px=(160, 40, 160, 40),
        )

    def show_exposure(self, words: str) -> None:
        """Say what was played today."""
        self._exposure.setText(words)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take the step of Enter or Esc; a key held down since the pair before takes none."""
        if self._held.is_held(event):
            return
        if event.key() in _ENTER:
            if not self._seen.isActive():
                self._on_enter().emit()
        elif event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def showEvent(self, event: QShowEvent) -> None:
        """Let Enter count once the page has been seen."""
        super().showEvent(event)
        self._keys.setText("")
        self._seen.start()

    def _tell_keys(self) -> None:
        self._keys.setText(self._key_words())

    def _key_words(self) -> str:
        return "Enter or Esc goes back to the start."

    def _on_enter(self) -> SignalInstance:
        """Return what Enter does; it leaves, as Esc does, unless a page says otherwise."""
        return self.left


class RestPage(_QuietPage):
    """A break is proposed; the evaluator says when it is over.

    Signals
    -------
    over, left
    """

    over = Signal()

    def __init__(self, held: HeldKeys) -> None:
        go_on = PrimaryButton("Go on listening")
        leave = QPushButton("Leave for now")
        super().__init__(held, go_on, leave)
        go_on.clicked.connect(self.over)
        leave.clicked.connect(self.left)

    def show_rest(self, done: int, pair_count: int) -> None:
        """Say how far the session is."""
        self._heading.setText("Time to rest your ears.")
        self._line.setText(
            f"{done} of {pair_count} pairs are done; all scores are saved. Take the "
            "headphones off, and rest about as long as you have listened: tired ears "
            "score differently."
        )

    def _key_words(self) -> str:
        return "Enter goes on listening. Esc leaves for now."

    def _on_enter(self) -> SignalInstance:
        return self.over


class StopPage(_QuietPage):
    """A full day's dose is reached; the evaluator is asked to stop, and decides.

    Enter leaves too; going on takes a button, on purpose.

    Signals
    -------
    passed, left
    """

    passed = Signal()

    def __init__(self, held: HeldKeys) -> None:
        leave = PrimaryButton("Stop for today")
        go_on = QPushButton("Go on all the same")
        super().__init__(held, leave, go_on)
        leave.clicked.connect(self.left)
        go_on.clicked.connect(self.passed)
        self._heading.setText("Your ears have had enough for today.")
        self._line.setText(stop_words())


class EndPage(_QuietPage):
    """The session is complete, but for pairs that were set aside.

    Signals
    -------
    left
    again
        The pairs that were set aside are to be taken up.
    """

    again = Signal()

    def __init__(self, held: HeldKeys) -> None:
        back = PrimaryButton("Back to start")
        again = QPushButton("Try the pairs set aside again (R)")
        super().__init__(held, back, again)
        self._aside_count = 0
        self._again = again
        again.clicked.connect(self.again)
        back.clicked.connect(self.left)

    def show_end(self, rated: int, aside: int) -> None:
        """Say that all scores are saved, and whether pairs could not be played."""
        self._aside_count = aside
        self._again.setVisible(aside > 0)
        if aside:
            self._heading.setText(f"{rated} of {rated + aside} pairs are rated, {aside} set aside.")
            self._line.setText(
                "All scores are saved. The sound of the pairs set aside could not be played: "
                "tell the person in charge. They come again when you open the session."
            )
            return
        self._heading.setText(f"All {rated} pairs are rated.")
        self._line.setText(
            "All scores and notes are saved. Please do not talk about what you heard until the "
            "others are done: the panel is blind. Thank you."
        )

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take up the pairs set aside with R."""
        if event.key() == Qt.Key.Key_R and self._aside_count and not self._held.is_held(event):
            self.again.emit()
        else:
            super().keyPressEvent(event)
