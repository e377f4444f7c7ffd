"""What is listened for: the attributes with their cards, each to be chosen, edited or added."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QStackedLayout,
    QWidget,
)

from app.lead.new_study.attribute_card import AttributeCard
from app.lead.new_study.presenter import NewStudyPresenter
from app.parts.buttons import QuietButton
from app.parts.headings import plain_label
from app.parts.layouts import Air, Aligned, Stretched, in_column, in_row
from app.parts.sheet import PlainScroll
from ratings.study.attributes import Attribute

_NAME_WIDTH_PX = 152


class AttributeRow(QWidget):
    """One attribute: its check box, its card, a way to edit it.

    Signals
    -------
    chosen(bool)
    edit_asked
    """

    chosen = Signal(bool)
    edit_asked = Signal()

    def __init__(self, attribute: Attribute, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.box = QCheckBox(attribute.name.replace("&", "&&"))
        self.box.setMinimumWidth(_NAME_WIDTH_PX)
        self.box.clicked.connect(self.chosen)
        self._words = self._card_words(attribute)
        self._needs = "steady speed" if attribute.manoeuvre == "steady" else "coast-down"
        self._card = card = plain_label(self._words, "small", "soft")
        card.setWordWrap(True)
        # Apart from the next row's also where it is higher than a button.
        card.setContentsMargins(0, 5, 0, 5)
        self.box.setAccessibleDescription(card.text())
        self.edit = QuietButton("Edit")
        self.edit.setAccessibleName(f"edit {attribute.name}")
        self.edit.clicked.connect(self.edit_asked)
        in_row(*(self.box, Stretched(card), self.edit), of=self, gap_px=6, margins_px=(0, 0, 2, 0))

    def show_state(self, *, is_chosen: bool, is_shown: bool) -> None:
        """Show whether the attribute is rated; one that no condition shows is not asked."""
        self.box.setChecked(is_chosen and is_shown)
        self.box.setEnabled(is_shown)
        needs = f"needs a {self._needs}"
        self._card.setText(self._words if is_shown else needs)
        self.box.setAccessibleDescription(self._words if is_shown else f"not asked: {needs}")

    def _card_words(self, attribute: Attribute) -> str:
        # A unit is not parted from its figure where the line wraps.
        words = attribute.card.replace(" Hz", "\u00a0Hz").replace(" kHz", "\u00a0kHz")
        if attribute.manoeuvre is None:
            return words
        return f"{words}; {attribute.manoeuvre} only"


class AttributeList(QWidget):
    """The list, and in its place the card that is being written.

    Signals
    -------
    rebuilt
        An attribute came or was edited.
    """

    rebuilt = Signal()

    def __init__(self, presenter: NewStudyPresenter, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._presenter = presenter
        self._shown: tuple[Attribute, ...] = ()
        self.rows: dict[str, AttributeRow] = {}
        self._scroll, written = PlainScroll(), PlainScroll()
        for scroll in (self._scroll, written):
            scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.add = QuietButton("Add an attribute of your own")
        self.add.clicked.connect(lambda: self._open(Attribute("", "", "")))
        self.card = AttributeCard()
        self.card.kept.connect(self._keep)
        self.card.edited.connect(presenter.write_attribute)
        self.card.closed.connect(self._close)
        listed = QWidget()
        add = Aligned(self.add, Qt.AlignmentFlag.AlignLeft)
        in_column(Stretched(self._scroll), add, of=listed, gap_px=4)
        self._stack = QStackedLayout(self)
        self._stack.addWidget(listed)
        written.setWidget(self.card)
        self._stack.addWidget(written)
        presenter.changed.connect(self.refresh)
        self.refresh()
        if presenter.written is not None:
            self._open(self._listed(presenter.written.key), presenter.written)

    def refresh(self) -> None:
        """Show the draft's attributes; rows are made anew only when a card changed."""
        draft = self._presenter.draft
        if self.is_open and self._presenter.written is None:
            # It was taken, or its study was made.
            self._close()
        if draft.attributes != self._shown:
            self._build(draft.attributes)
            self.rebuilt.emit()
        for key, row in self.rows.items():
            row.show_state(
                is_chosen=key in draft.chosen, is_shown=draft.is_shown(self._listed(key))
            )

    def _listed(self, key: str) -> Attribute:
        return next((a for a in self._shown if a.key == key), Attribute("", "", ""))

    def stops(self) -> list[QWidget]:
        """Give where Tab leads: row by row, then the card's fields."""
        rows = [stop for row in self.rows.values() for stop in (row.box, row.edit)]
        return [*rows, self.add, *self.card.stops]

    def _build(self, attributes: tuple[Attribute, ...]) -> None:
        self._shown = attributes
        self.rows = {}
        for attribute in attributes:
            row = AttributeRow(attribute)
            row.chosen.connect(
                lambda is_chosen, key=attribute.key: self._presenter.change(
                    self._presenter.draft.with_choice(key, is_chosen=is_chosen)
                )
            )
            row.edit_asked.connect(lambda attribute=attribute: self._open(attribute))
            self.rows[attribute.key] = row
        inside = QWidget()
        in_column(*self.rows.values(), Air(share=1), of=inside, gap_px=0)
        before = self._scroll.takeWidget()
        if before is not None:
            before.hide()
            before.deleteLater()
        self._scroll.setWidget(inside)

    @property
    def is_open(self) -> bool:
        """Whether an attribute is being written."""
        return self._stack.currentIndex() == 1

    def _open(self, attribute: Attribute, written: Attribute | None = None) -> None:
        self.card.show_attribute(attribute, written)
        self._presenter.write_attribute(attribute if written is None else written)
        self._stack.setCurrentIndex(1)
        self.card.name.setFocus(Qt.FocusReason.OtherFocusReason)

    def _keep(self, attribute: Attribute) -> None:
        problem = self._presenter.keep_attribute(attribute)
        if problem is not None:
            self.card.tell(str(problem))
            return
        self._close()

    def _close(self) -> None:
        self._stack.setCurrentIndex(0)
        self._presenter.write_attribute(None)
        self.add.setFocus(Qt.FocusReason.OtherFocusReason)
