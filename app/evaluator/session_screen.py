"""The listening session: two sides above, one ladder per attribute below."""

from collections.abc import Callable

from PySide6.QtCore import QRect, Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QStackedLayout, QWidget

from app.evaluator.session_presenter import SessionPresenter
from app.listening.ladder_list import LadderList
from app.listening.pair_form import NotYetError
from app.listening.pauses import EndPage, RestPage, StopPage
from app.listening.session_keys import SessionKeys, key_card, key_line
from app.parts.buttons import PrimaryButton, QuietButton
from app.parts.headings import PageHeading, SoftLine
from app.parts.held_keys import HeldKeys
from app.parts.icons import TOUCH_PX
from app.parts.keys_card import KeysCard
from app.parts.layouts import Stretched, in_column, in_row
from app.parts.message_bar import MessageBar
from app.parts.note_box import NoteBox
from app.parts.position_bar import PositionBar
from app.parts.road import Road
from app.parts.sides import SidePanel
from ratings.errors import PlaybackError, RatingsError
from ratings.study.listening import SIDES, Side

#: Below this height the parts stand closer: all ladders matter more than air.
_LOW_PX = 640
#: Width in which the sentence on the level takes two lines.
_LEVEL_PX = 320


class SessionScreen(QWidget):
    """Shows the pair at hand and passes keys and clicks to the presenter.

    Signals
    -------
    left
        The evaluator goes back to the doors; everything given is kept.
    device_asked
        The evaluator wants another sound device.
    """

    left = Signal()
    device_asked = Signal()

    def __init__(self, presenter: SessionPresenter, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._presenter = presenter
        self._is_about_sound = False
        self._is_refused = False
        self._held = HeldKeys()
        self._keys = SessionKeys(
            presenter,
            {
                "note": self._open_note,
                "keys": self._open_keys,
                "leave": lambda: presenter.in_turn(self._step_back),
                "next": presenter.confirm,
                "device": self.ask_device,
                "aside": presenter.set_aside,
                "again": presenter.take_up_aside,
            },
        )
        self._build()
        self._connect()

    def begin(self) -> None:
        """Take the session up where it was left."""
        self._presenter.begin()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Pass keys that no widget has taken to the session."""
        is_held = self._held.is_held(event)
        is_pair = self._pages.currentWidget() is self._pair_page
        if is_pair and self._keys.take(event, is_held=is_held):
            return
        super().keyPressEvent(event)

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        """Follow which keys are held down."""
        self._held.take_release(event)
        super().keyReleaseEvent(event)

    def focusNextPrevChild(self, forward: bool) -> bool:
        """Let Tab go from attribute to attribute; everything else has a key of its own."""
        if self._pages.currentWidget() is not self._pair_page:
            return super().focusNextPrevChild(forward)
        self._presenter.step_attribute(1 if forward else -1)
        return True

    def showEvent(self, event: QShowEvent) -> None:
        """Let whatever is done in the window count as attention."""
        super().showEvent(event)
        window = self.window().windowHandle()
        if window is not None:
            window.installEventFilter(self._presenter.attention)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Stand closer on a low screen."""
        super().resizeEvent(event)
        self._fit(is_low=self.height() < _LOW_PX)

    def _fit(self, *, is_low: bool) -> None:
        self._column.setSpacing(2 if is_low else 6)
        beside, above = (20, 4) if is_low else (40, 12)
        self._column.setContentsMargins(beside, above, beside, above)
        for panel in self._sides.values():
            panel.set_low(is_low)

    def _build(self) -> None:
        self._pages = QStackedLayout(self)
        self._pair_page = QWidget()
        self._rest_page = RestPage(self._held)
        self._stop_page = StopPage(self._held)
        self._end_page = EndPage(self._held)
        # Empty until the first pair is read: form and buttons have nothing to stand for before.
        for page in (QWidget(), self._pair_page, self._rest_page, self._stop_page, self._end_page):
            self._pages.addWidget(page)
        self._road = Road()
        self._position = PositionBar()
        self._position.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._ladders = LadderList(self._presenter)
        self._column = in_column(
            self._build_top(),
            self._road,
            self._build_sides(),
            self._position,
            Stretched(self._ladders),
            self._build_foot(),
            of=self._pair_page,
        )
        self._messages = MessageBar(self._pair_page)
        self._messages.hang_over(self._heading, self._level, self._road)
        self._note_box = NoteBox(self._pair_page)
        self._key_card = KeysCard(self._pair_page)
        self._key_card.set_keys(key_card())
        self._fit(is_low=False)

    def _build_top(self) -> QHBoxLayout:
        self._heading = PageHeading()
        self._level = SoftLine()
        # A long title may be cut short, but must never widen the window.
        self._heading.setMinimumWidth(1)
        self._level.setMinimumWidth(_LEVEL_PX)
        self._level.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        return in_row(Stretched(self._heading, 3), Stretched(self._level, 2), gap_px=16)

    def _build_sides(self) -> QHBoxLayout:
        self._sides = {side: SidePanel(side) for side in SIDES}
        for panel in self._sides.values():
            panel.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        return in_row(*self._sides.values(), gap_px=20)

    def _build_foot(self) -> QHBoxLayout:
        self._hint = SoftLine(key_line())
        # Two lines at most; longer words must never push the foot out of the window.
        self._hint.setMinimumWidth(1)
        self._hint.setFixedHeight(TOUCH_PX)
        self._pause_button = QuietButton("Pause")
        self._loop_button = QuietButton("Stop looping")
        self._level_button = QuietButton("Level")
        self._level_button.setAccessibleName("sound device and level")
        self._keys_button = QuietButton("Keys")
        self._leave_button = QuietButton("Leave")
        self._aside_button = QuietButton("")
        self._aside_button.hide()
        self._next_button = PrimaryButton("Next pair")
        self._next_button.setEnabled(False)
        buttons = (
            self._aside_button,
            self._pause_button,
            self._loop_button,
            self._level_button,
            self._keys_button,
            self._leave_button,
            self._next_button,
        )
        for button in buttons:
            button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        return in_row(Stretched(self._hint), *buttons, gap_px=12)

    def _connect(self) -> None:
        presenter, player = self._presenter, self._presenter.player
        presenter.pair_changed.connect(self._show_pair)
        presenter.answers_changed.connect(self._show_answers)
        presenter.sound_changed.connect(self._show_sound)
        presenter.moved.connect(self._show_position)
        presenter.problem_raised.connect(self._tell)
        presenter.problem_cleared.connect(self._clear_trouble)
        presenter.exposure_changed.connect(self._show_exposure)
        self._messages.action_asked.connect(self._do_offered_step)
        for side, panel in self._sides.items():
            panel.clicked.connect(lambda _checked=False, side=side: presenter.hear(side))
            panel.note_asked.connect(lambda side=side: self._open_note(side))
        self._position.seek_asked.connect(player.seek)
        self._note_box.note_written.connect(self._keep_note)
        self._note_box.closed.connect(self._ladders.focus_active)
        self._key_card.closed.connect(self._ladders.focus_active)
        self._messages.dismissed.connect(self._ladders.focus_active)
        self._pause_button.clicked.connect(player.toggle_play)
        self._loop_button.clicked.connect(lambda: player.set_looping(not player.is_looping))
        self._keys_button.clicked.connect(self._open_keys)
        self._level_button.clicked.connect(self.ask_device)
        self._leave_button.clicked.connect(self._leave)
        self._aside_button.clicked.connect(presenter.take_up_aside)
        self._next_button.clicked.connect(self._go_on)
        self._rest_page.over.connect(presenter.end_rest)
        self._rest_page.left.connect(self._leave)
        self._stop_page.passed.connect(presenter.pass_full_dose)
        self._stop_page.left.connect(self._leave)
        self._end_page.left.connect(self._leave)
        self._end_page.again.connect(presenter.take_up_aside)

    def _show_pair(self) -> None:
        presenter = self._presenter
        self._is_about_sound = False
        self._messages.clear()
        form = presenter.form
        if form is None:
            self._show_pause()
            return
        self._pages.setCurrentWidget(self._pair_page)
        title = form.pair.condition_title
        self._heading.setText(title[:1].upper() + title[1:])
        self._level.setText(presenter.level_words())
        self._road.show_way(
            form.pair.position,
            presenter.pair_count,
            presenter.desk.breaks,
            presenter.minutes_left,
            done=presenter.locked_positions(),
            aside=presenter.aside_positions(),
        )
        self._next_button.setText("Finish" if presenter.is_last else "Next pair")
        self._aside_button.setText(f"{presenter.aside_count} set aside (R)")
        self._aside_button.setAccessibleName("return to the pairs set aside")
        self._aside_button.setVisible(presenter.aside_count > 0)
        self._position.set_length(presenter.player.duration_s)
        self._show_answers()
        self._show_sound()
        self._show_position()

    def _show_pause(self) -> None:
        presenter = self._presenter
        page: RestPage | StopPage | EndPage
        if presenter.is_over:
            page = self._end_page
            page.show_end(presenter.locked_count, presenter.aside_count)
        elif presenter.is_resting:
            page = self._rest_page
            page.show_rest(presenter.locked_count, presenter.pair_count)
        else:
            page = self._stop_page
        self._pages.setCurrentWidget(page)
        self._show_exposure()
        page.setFocus()

    def _show_exposure(self) -> None:
        page = self._pages.currentWidget()
        # Beside a pair it would tell which of the two is louder.
        if isinstance(page, RestPage | StopPage | EndPage):
            page.show_exposure(self._presenter.exposure_words())

    def _show_answers(self) -> None:
        form = self._presenter.form
        if form is None:
            return
        if not self._is_about_sound:
            self._messages.clear()
        self._is_refused = False
        self._ladders.refresh()
        self._show_hint()
        self._next_button.setEnabled(form.first_missing() is None)
        for side, panel in self._sides.items():
            panel.set_note_count(1 if self._presenter.note(side) else 0)

    def _show_hint(self) -> None:
        self._say_hint(
            self._presenter.hint() or key_line(), "attention" if self._is_refused else "soft"
        )

    def _say_hint(self, words: str, look: str) -> None:
        if (self._hint.text(), self._hint.property("look")) == (words, look):
            return
        self._hint.setText(words)
        self._hint.setProperty("look", look)
        self._hint.style().unpolish(self._hint)
        self._hint.style().polish(self._hint)

    def _show_sound(self) -> None:
        player, hearing = self._presenter.player, self._presenter.hearing
        for side, panel in self._sides.items():
            if side != player.side:
                panel.set_state("waiting")
            else:
                sounds = player.is_playing and player.trouble is None
                panel.set_state("sounding" if sounds else "paused")
            coverage = player.coverage(side)
            missing_s = None if hearing is None or not coverage.total_s else hearing.missing_s(side)
            panel.set_heard(coverage.heard_s, coverage.total_s, coverage.hearings, missing_s)
            panel.set_rising(player.is_rising and side == player.side)
        unheard = None if hearing is None else hearing.unheard_stretches()
        self._position.set_unheard(*unheard or (None,))
        self._ladders.show_side()
        if unheard is not None:
            self._ladders.show_locked()
            self._show_hint()
        self._pause_button.setText("Pause" if player.is_playing else "Play")
        self._loop_button.setText("Stop looping" if player.is_looping else "Loop")
        if player.is_looping:
            self._position.set_loop(0.0, player.duration_s)
        else:
            self._position.set_loop(None)

    def _show_position(self) -> None:
        self._position.set_position(self._presenter.player.position_s)

    def _tell(self, problem: RatingsError) -> None:
        if isinstance(problem, NotYetError):
            # Nothing is wrong: said in the foot, where the keys are told too.
            self._is_refused = True
            self._say_hint(str(problem), "attention")
            return
        self._is_about_sound = isinstance(problem, PlaybackError) or self._presenter.is_silent
        if self._presenter.is_silent:
            action = "Set this pair aside (S)"
        else:
            action = "Choose a device (D)" if self._is_about_sound else ""
        if self._pages.currentIndex() == 0:
            self._pages.setCurrentWidget(self._pair_page)
        self._messages.tell(problem.what_happened, problem.what_to_do, "attention", action)
        self._show_sound()

    def _do_offered_step(self) -> None:
        if self._presenter.is_silent:
            self._presenter.set_aside()
        else:
            self.ask_device()

    def ask_device(self) -> None:
        """Go to the device and its level, once everything given is saved."""
        self.put_away(self.device_asked.emit)

    def _clear_trouble(self) -> None:
        self._is_about_sound = False
        self._messages.clear()
        self._show_sound()

    def _open_note(self, side: Side | None = None) -> None:
        self._presenter.settle(lambda: self._show_note(side), is_told=True)

    def _show_note(self, side: Side | None) -> None:
        chosen = self._presenter.player.side if side is None else side
        panel = self._sides[chosen]
        place = QRect(panel.mapTo(self._pair_page, panel.rect().topLeft()), panel.size())
        self._note_box.write(chosen, self._presenter.note(chosen), place)

    def _keep_note(self, side: Side, text: str) -> None:
        self._presenter.write_note(side, text, self._note_box.take_answer)

    def _go_on(self) -> None:
        # A note that is still open belongs to this pair, not to the next.
        self._note_box.put_away()
        if not self._note_box.isVisible():
            self._presenter.go_on()

    def _open_keys(self) -> None:
        self._presenter.settle(self._key_card.open)

    @property
    def is_put_away(self) -> bool:
        """Whether everything given is saved and the sound was let go of."""
        return self._presenter.has_left

    def put_away(self, then: Callable[[], None] = lambda: None) -> None:
        """Keep an open note and let go of the sound, then go on; stay if something is refused."""
        self._note_box.put_away()
        self._presenter.leave(then, self._note_box.isHidden)

    def _leave(self) -> None:
        self.put_away(self.left.emit)

    def _step_back(self) -> None:
        """Take one step back: what is typed, a refusal in the foot, a message, then the session."""
        if self._presenter.entry.typed is not None:
            self._presenter.entry.drop()
        elif self._is_refused:
            self._is_refused = False
            self._show_hint()
        elif self._messages.isVisible():
            self._clear_trouble()
        else:
            self._leave()
