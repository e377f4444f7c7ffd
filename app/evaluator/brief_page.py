"""What an evaluator reads and sets before the first pair: words, level, device, cautions."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QShowEvent
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QWidget,
)

from app.evaluator.brief_presenter import BriefPresenter
from app.listening.level_field import LevelField
from app.listening.session_keys import key_card
from app.parts.buttons import PrimaryButton, QuietButton
from app.parts.fields import Choice, once_read
from app.parts.fonts import font
from app.parts.headings import FindingHeading, QuestionPanel, SoftLine, plain_label
from app.parts.keys_card import KeysCard
from app.parts.layouts import Stretched, in_column, in_row
from app.parts.message_bar import MessageBar
from app.parts.sheet import SheetScroll
from ratings.errors import RatingsError

#: The others are on the card that `?` opens.
_KEYS_SHOWN = 6


class BriefPage(QWidget):
    """Shows the attributes' cards, and lets the sound device and its level be set.

    Signals
    -------
    begun
        The evaluator is ready for the pairs, or back at the pair that the brief was opened from.
    left

    Parameters
    ----------
    is_from_pair
        Whether it was opened from a pair, to which Esc leads back.
    """

    begun = Signal()
    left = Signal()

    def __init__(
        self,
        presenter: BriefPresenter,
        parent: QWidget | None = None,
        *,
        is_from_pair: bool = False,
    ) -> None:
        super().__init__(parent)
        self._is_from_pair = is_from_pair
        self.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        self._presenter = presenter
        self._told: tuple[str, str, str] | None = None
        self._messages = MessageBar()
        self._messages.action_asked.connect(self._lower)
        left = in_column(self._build_words(), Stretched(self._build_keys()), gap_px=16)
        right = in_column(self._build_sound(), Stretched(self._build_ears()), gap_px=16)
        middle = in_row(Stretched(left, 5), Stretched(right, 4), gap_px=16)
        in_column(
            self._build_top(),
            self._messages,
            # Where the screen is too low for all of it, the panels scroll; the foot stays.
            Stretched(SheetScroll(middle)),
            self._build_foot(),
            of=self,
            gap_px=8,
            margins_px=(40, 16, 40, 16),
        )
        self._key_card = KeysCard(self)
        self._key_card.set_keys(
            [
                ("Tab", "next field or button"),
                ("Enter  Space", "press the button that has the frame"),
                ("Esc", "give up a number that is typed; else back"),
                ("?", "this card"),
            ]
        )
        player = presenter.player
        player.devices_changed.connect(self._show_devices)
        player.trouble_raised.connect(self._show)
        player.trouble_cleared.connect(self._show)
        presenter.changed.connect(self._show)
        self._show_devices()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc goes back, ``?`` shows the keys."""
        if event.key() == Qt.Key.Key_Escape:
            self._go_back()
        elif event.text() == "?":
            self._key_card.open()
        else:
            super().keyPressEvent(event)

    def showEvent(self, event: QShowEvent) -> None:
        """Let Enter or Space begin."""
        super().showEvent(event)
        # While the clips are checked the page itself has the keys: Enter must not mean "back".
        first = self._start if self._start.isEnabled() else self
        first.setFocus(Qt.FocusReason.OtherFocusReason)

    def put_away(self) -> None:
        """Let no trial sound go on behind another page."""
        self._presenter.stop()

    def _build_top(self) -> QHBoxLayout:
        words = "Back to the pair" if self._is_from_pair else "Back to the seats"
        back = QuietButton(words)
        back.clicked.connect(self._go_back)
        return in_row(Stretched(FindingHeading(self._presenter.heading())), back)

    def _build_words(self) -> QWidget:
        panel = QuestionPanel("What do the words mean?")
        grid = QGridLayout()
        grid.setHorizontalSpacing(24)
        grid.setVerticalSpacing(6)
        for row, (name, card) in enumerate(self._presenter.attributes()):
            grid.addWidget(plain_label(name, "strong"), row, 0)
            grid.addWidget(SoftLine(card), row, 1)
        grid.setColumnStretch(1, 1)
        panel.body.addLayout(grid)
        scale = SoftLine("10 is nothing to hear, 5 is borderline, 1 is not acceptable.")
        panel.body.addWidget(scale)
        panel.body.addStretch(1)
        return panel

    def _build_keys(self) -> QWidget:
        panel = QuestionPanel("How is a pair rated?")
        grid = QGridLayout()
        grid.setHorizontalSpacing(16)
        grid.setVerticalSpacing(4)
        for row, (key, what) in enumerate(key_card()[:_KEYS_SHOWN]):
            cap = QLabel(key)
            cap.setProperty("look", "key")
            cap.setFont(font("small"))
            cap.setAlignment(Qt.AlignmentFlag.AlignCenter)
            words = QLabel(what)
            words.setProperty("look", "soft")
            grid.addWidget(cap, row, 0)
            grid.addWidget(words, row, 1)
        grid.setColumnStretch(1, 1)
        panel.body.addLayout(grid)
        mouse = SoftLine(
            "Mouse: click a side to hear it, click or drag on a rail, right-click takes back."
        )
        panel.body.addWidget(mouse)
        panel.body.addStretch(1)
        return panel

    def _build_sound(self) -> QWidget:
        presenter = self._presenter
        panel = QuestionPanel("Where does the sound go, and how loud?")
        self._device = Choice("sound device")
        self._device.activated.connect(
            lambda index: presenter.choose_device(self._device.itemData(index))
        )
        panel.body.addWidget(self._device)
        self._device_line = SoftLine()
        panel.body.addWidget(self._device_line)
        panel.body.addWidget(SoftLine("A full-scale 1 kHz sine on this device gives"))
        panel.body.addLayout(self._build_level())
        panel.body.addWidget(self._level.line)
        self._tone_line = SoftLine()
        panel.body.addWidget(self._tone_line)
        panel.body.addLayout(self._build_tone())
        self._noise_row = QWidget()
        self._noise_row.setLayout(self._build_noise())
        panel.body.addWidget(self._noise_row)
        self._level_line = SoftLine()
        panel.body.addWidget(self._level_line)
        return panel

    def _build_level(self) -> QHBoxLayout:
        self._level = LevelField()
        self._level.valueChanged.connect(self._choose_level)
        self._level.given_up.connect(self._close_level)
        self._unlock = QPushButton("Change")
        self._unlock.clicked.connect(self._allow_change)
        return in_row(Stretched(self._level), self._unlock, gap_px=8)

    def _build_tone(self) -> QHBoxLayout:
        self._tone = QPushButton()
        self._tone.clicked.connect(self._presenter.play_tone)
        self._confirm = QPushButton("It has this level")
        self._confirm.clicked.connect(self._take_confirmation)
        return in_row(Stretched(self._tone), Stretched(self._confirm), gap_px=8)

    def _build_noise(self) -> QHBoxLayout:
        presenter = self._presenter
        self._noise = QPushButton()
        self._noise.clicked.connect(presenter.play_noise)
        self._softer = QPushButton("Softer")
        self._softer.clicked.connect(lambda: presenter.change_attenuation(-1))
        self._louder = QPushButton("Louder")
        self._louder.clicked.connect(lambda: presenter.change_attenuation(1))
        return in_row(
            Stretched(self._noise, 2), Stretched(self._softer), Stretched(self._louder), gap_px=8
        )

    def _build_ears(self) -> QWidget:
        panel = QuestionPanel("Is it safe for your ears?")
        self._ears_line = SoftLine()
        self._exposure_line = SoftLine()
        panel.body.addWidget(self._ears_line)
        panel.body.addWidget(self._exposure_line)
        panel.body.addStretch(1)
        return panel

    def _build_foot(self) -> QHBoxLayout:
        self._left_line = SoftLine()
        self._start = PrimaryButton("")
        self._start.clicked.connect(once_read(self, self._begin))
        self._start.setAutoDefault(True)
        return in_row(Stretched(self._left_line), self._start)

    def _show_devices(self) -> None:
        presenter = self._presenter
        self._device.clear()
        for words, name in presenter.devices():
            self._device.addItem(words, name)
        self._device.setCurrentIndex(max(0, self._device.findData(presenter.device_name)))
        self._show()

    def _show(self) -> None:
        presenter = self._presenter
        self._device_line.setText(presenter.device_words())
        self._show_level()
        self._show_trials()
        self._ears_line.setText(presenter.ears_words())
        self._exposure_line.setText(presenter.exposure_words())
        self._left_line.setText(presenter.left_words())
        words = presenter.start_words(is_from_pair=self._is_from_pair)
        self._start.setText(words)
        waits = not self._start.isEnabled() and self.hasFocus()
        self._start.setEnabled(presenter.can_begin)
        if waits and presenter.can_begin:
            # Nobody has gone elsewhere while the clips were checked.
            self._start.setFocus(Qt.FocusReason.OtherFocusReason)
        self._show_problem()

    def _show_level(self) -> None:
        presenter = self._presenter
        if not self._level.isEnabled():
            self._level.show_level(presenter.level_db)
        self._unlock.setEnabled(presenter.can_set_level and not self._level.isEnabled())
        self._level_line.setText(presenter.loudness_words())

    def _show_trials(self) -> None:
        presenter = self._presenter
        self._tone_line.setText(presenter.tone_words())
        for widget in (self._tone_line, self._tone):
            widget.setVisible(presenter.offers_tone)
        self._confirm.setVisible(presenter.asks_for_confirmation)
        self._tone.setText(presenter.tone_step())
        self._confirm.setEnabled(presenter.can_confirm)
        self._noise_row.setVisible(presenter.offers_noise)
        self._noise.setText(presenter.noise_step())

    def _show_problem(self) -> None:
        presenter = self._presenter
        problem = presenter.problem()
        if problem is None:
            self._messages.clear()
        else:
            self._tell(problem, presenter.way_out())

    def _tell(self, problem: RatingsError, action: str) -> None:
        words = (problem.what_happened, problem.what_to_do, action)
        if words != self._told or self._messages.isHidden():
            self._told = words
            self._messages.tell(problem.what_happened, problem.what_to_do, "attention", action)

    def _allow_change(self) -> None:
        self._level.setEnabled(True)
        self._unlock.setEnabled(False)
        self._level.setFocus()
        self._level.selectAll()

    def _close_level(self) -> None:
        self._level.setEnabled(False)
        self._show_level()
        self._unlock.setFocus(Qt.FocusReason.OtherFocusReason)

    def _choose_level(self, value: float) -> None:
        self._presenter.set_level(self._level.level_of(value))

    def _take_confirmation(self) -> None:
        self._presenter.confirm()
        if self._presenter.can_lower:
            # The button that had the keys is gone: they belong to the step that is offered.
            self._messages.take_keys()
        else:
            self._start.setFocus(Qt.FocusReason.OtherFocusReason)

    def _lower(self) -> None:
        self._presenter.lower()
        self._start.setFocus(Qt.FocusReason.OtherFocusReason)

    def _go_back(self) -> None:
        if self._is_from_pair:
            self._begin()
        else:
            self.left.emit()

    def _begin(self) -> None:
        self._presenter.begin()
        self.begun.emit()
