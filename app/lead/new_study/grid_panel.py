"""The grid with its buttons, and in its place, as long as it is empty, the first step."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QPushButton, QStackedLayout, QWidget

from app.lead.new_study.grid import StudyGrid
from app.lead.new_study.presenter import NewStudyPresenter
from app.parts.buttons import PrimaryButton, QuietButton
from app.parts.headings import QuestionPanel, plain_label
from app.parts.layouts import Air, Stretched, in_column, in_row


class GridPanel(QuestionPanel):
    """Asks for recordings or empty rows, then shows the grid.

    Signals
    -------
    files_asked
        Recordings are to be chosen.
    """

    files_asked = Signal()

    def __init__(self, presenter: NewStudyPresenter, parent: QWidget | None = None) -> None:
        super().__init__("Which recording is which set on which condition?", parent)
        self._presenter = presenter
        self.grid = StudyGrid(presenter)
        self.choose = PrimaryButton("Choose recordings")
        self.by_hand = QuietButton("Or begin with empty rows")
        self.by_hand.clicked.connect(self._begin_by_hand)
        self.more = QPushButton("Choose recordings")
        for button in (self.choose, self.more):
            button.clicked.connect(self.files_asked)
        self._add_set = QPushButton("Add a set")
        self._add_set.clicked.connect(lambda: presenter.change(presenter.draft.with_set()))
        self._add_condition = QPushButton("Add a condition")
        self._add_condition.clicked.connect(
            lambda: presenter.change(presenter.draft.with_condition())
        )
        self._stack = QStackedLayout()
        self._stack.addWidget(self._build_start())
        self._stack.addWidget(self._build_begun())
        self.body.addLayout(self._stack)
        presenter.changed.connect(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Show the way in as long as the grid is empty."""
        draft = self._presenter.draft
        self._stack.setCurrentIndex(1 if draft.sets or draft.conditions else 0)

    @property
    def is_empty(self) -> bool:
        """Whether the way in is shown."""
        return self._stack.currentIndex() == 0

    def stops(self) -> list[QWidget]:
        """Give where Tab leads."""
        return [
            *(self.choose, self.by_hand),
            *self.grid.stops(),
            *(self.more, self._add_set, self._add_condition),
        ]

    def _build_start(self) -> QWidget:
        invitation = plain_label("Drop the recordings here", "heading")
        how = plain_label(
            "One file for each set on each condition: a sound file, "
            "or a measurement as UFF, MAT, HDF5 or MF4. Names such as birch_coarse_80.wav "
            "find their row and column by themselves; all of it can be changed afterwards.",
            look="soft",
        )
        how.setWordWrap(True)
        for label in (invitation, how):
            label.setAlignment(Qt.AlignmentFlag.AlignCenter)
        buttons = in_row(Air(share=1), self.choose, self.by_hand, Air(share=1))
        start = QWidget()
        in_column(Air(share=2), invitation, how, buttons, Air(share=3), of=start, gap_px=8)
        return start

    def _build_begun(self) -> QWidget:
        buttons = in_row(self.more, self._add_set, self._add_condition, Air(share=1), gap_px=8)
        begun = QWidget()
        in_column(Stretched(self.grid), buttons, of=begun, gap_px=10)
        return begun

    def _begin_by_hand(self) -> None:
        # One by one: a condition that is added by itself is opened to be described.
        for _ in range(2):
            self._presenter.change(self._presenter.draft.with_set())
        self._presenter.change(self._presenter.draft.with_condition())
