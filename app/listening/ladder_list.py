"""The ladders of the pair at hand, one per attribute, in step with the presenter."""

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QFrame, QScrollArea, QVBoxLayout, QWidget

from app.listening.pair_rating import PairRating
from app.parts.ladder import ScoreLadder
from app.parts.ladder_layout import COMPACT_PX, REGULAR_PX
from app.parts.layouts import clear_layout
from app.parts.overlay import is_covered
from ratings.study.attributes import Attribute
from ratings.study.listening import SIDES

#: A low ladder grows by so much where there is room; higher, it would be a regular one.
_MOST_AIR_PX = 12


class LadderList(QScrollArea):
    """Shows a ladder for each attribute; scrolls only where the screen is too low for all."""

    def __init__(self, presenter: PairRating, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._presenter = presenter
        self._shown: tuple[Attribute, ...] = ()
        self._is_refreshing = False
        self.ladders: list[ScoreLadder] = []
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._inside = QWidget()
        self._column = QVBoxLayout(self._inside)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(0)
        self.setWidget(self._inside)

    def refresh(self) -> None:
        """Show the form as it stands."""
        form = self._presenter.form
        if form is None:
            return
        if form.attributes != self._shown:
            self._rebuild(form.attributes)
        self._is_refreshing = True
        for place, (attribute, ladder) in enumerate(zip(self._shown, self.ladders, strict=True)):
            for side in SIDES:
                ladder.set_mark(side, form.score_of(attribute.key, side))
            ladder.set_asks_for_equal(form.waits_for_equal(attribute.key))
            ladder.set_active(place == form.active)
            self._show_typed(ladder, attribute.key)
            ladder.sounding_side = self._presenter.player.side
        self.show_locked()
        self.focus_active()
        self._is_refreshing = False

    def focus_active(self) -> None:
        """Give the keys to the active ladder and bring it into sight."""
        form = self._presenter.form
        if form is not None and self.ladders:
            ladder = self.ladders[form.active]
            if not is_covered(self):
                ladder.setFocus(Qt.FocusReason.OtherFocusReason)
            self.ensureWidgetVisible(ladder, 0, 8)

    def _show_typed(self, ladder: ScoreLadder, key: str) -> None:
        entry = self._presenter.entry
        if entry.typed is None or entry.typed.key != key:
            ladder.set_typed(None)
        else:
            typed = entry.typed
            ladder.set_typed(typed.side, typed.text, entry.value_of(typed))

    def show_locked(self) -> None:
        """Say on each ladder what must be heard before it takes scores."""
        because = self._presenter.unheard_words()
        for ladder in self.ladders:
            ladder.set_locked(bool(because), because)

    def show_side(self) -> None:
        """Let presses on the rails go to the side that sounds."""
        for ladder in self.ladders:
            ladder.sounding_side = self._presenter.player.side

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Make the ladder that got the focus the active one."""
        if event.type() == QEvent.Type.FocusIn and not self._is_refreshing:
            for place, ladder in enumerate(self.ladders):
                if watched is ladder:
                    self._presenter.activate(place)
        return super().eventFilter(watched, event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Leave the arrows to the session: a scroll area would take them."""
        event.ignore()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Make the ladders low where they would not all be in sight."""
        super().resizeEvent(event)
        self._choose_height()

    def _rebuild(self, attributes: tuple[Attribute, ...]) -> None:
        # Qt passes the keys of what is hidden on, as if somebody had pressed Tab.
        for ladder in self.ladders:
            ladder.clearFocus()
        clear_layout(self._column)
        self._shown = attributes
        self.ladders = [self._ladder(attribute) for attribute in attributes]
        for place, ladder in enumerate(self.ladders):
            ladder.set_shows_words(place == 0)
            # Rows grow with the screen up to their limit; the rest stays below them.
            self._column.addWidget(ladder, 1)
            # A layout shows what it was given only later, and what is hidden takes no keys.
            ladder.show()
        self._column.addStretch(0)
        self._choose_height()

    def _ladder(self, attribute: Attribute) -> ScoreLadder:
        is_loudness = attribute.low_hz is not None
        ladder = ScoreLadder(
            attribute.name,
            attribute.card,
            self._presenter.desk.scale.step,
            "quieter" if is_loudness else "better",
            self._inside,
        )
        ladder.mark_asked.connect(
            lambda side, value, key=attribute.key: self._presenter.give(key, side, value)
        )
        ladder.no_difference_asked.connect(lambda key=attribute.key: self._presenter.say_equal(key))
        ladder.take_back_asked.connect(
            lambda side, key=attribute.key: self._presenter.take_back(key, side)
        )
        ladder.installEventFilter(self)
        return ladder

    def _choose_height(self) -> None:
        room_px = self.viewport().height()
        low = len(self.ladders) * REGULAR_PX > room_px
        # The first one keeps its height where it can: it has the words of the scale.
        spare_px = room_px - len(self.ladders) * COMPACT_PX - (REGULAR_PX - COMPACT_PX)
        keeps_words = spare_px >= 0
        # What is left is air inside the rows: a frame must not touch what it is around.
        air_px = min(max(0, spare_px) // max(1, len(self.ladders) - 1), _MOST_AIR_PX)
        for place, ladder in enumerate(self.ladders):
            ladder.set_compact(low and not (place == 0 and keeps_words), COMPACT_PX + air_px)
