"""How far the measuring has got, with the time that is left and a way to stop."""

from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app.lead.recordings.presenter import RecordingsPresenter
from app.parts.buttons import OnceButton
from app.parts.fonts import font
from app.parts.thin_bar import ThinBar
from ratings.study.wording import remaining_words


class MeasuringRow(QWidget):
    """Hidden while nothing is being measured."""

    def __init__(self, presenter: RecordingsPresenter, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._presenter = presenter
        self.words = QLabel()
        self.words.setFont(font("small"))
        self.words.setProperty("look", "soft")
        # Long words take a second line rather than push the stop button out of the window.
        self.words.setWordWrap(True)
        self.words.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.bar = ThinBar("part of the measuring that is done")
        self.stop = OnceButton("Stop measuring")
        self.stop.clicked.connect(presenter.measuring.cancel)
        column = QVBoxLayout()
        column.setSpacing(4)
        column.addWidget(self.words)
        column.addWidget(self.bar)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(12)
        row.addLayout(column, 1)
        row.addWidget(self.stop)
        self.show_state()

    def show_state(self) -> None:
        """Show the presenter's state."""
        state = self._presenter.measuring.state
        self.setVisible(state is not None)
        if state is None:
            return
        left = remaining_words(state.seconds_left)
        self.words.setText(f"{state.words}, {left}" if left else state.words)
        self.bar.show_part(state.part)
        self.stop.setEnabled(not state.is_stopping)
