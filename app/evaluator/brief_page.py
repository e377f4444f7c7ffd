"""What an evaluator reads and sets before the first pair: words, level, device, cautions."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QShowEvent
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.evaluator.brief_presenter import BriefPresenter
from app.listening.level_field import LevelField
from app.listening.session_keys import key_card
from app.parts.buttons import PrimaryButton, QuietButton
from app.parts.fields import Choice, once_read
from app.parts.fonts import font
from app.parts.headings import FindingHeading, QuestionPanel, SoftLine
from app.parts.keys_card import KeysCard
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
        self._desk = presenter.desk
        self._told: tuple[str, str, str] | None = None
        self._messages = MessageBar()
        self._messages.action_asked.connect(self._lower)
        column = QVBoxLayout(self)
        column.setContentsMargins(40, 16, 40, 16)
        column.setSpacing(8)
        column.addLayout(self._build_top())
        column.addWidget(self._messages)
        middle = QHBoxLayout()
        middle.setSpacing(16)
        left = QVBoxLayout()
        left.setSpacing(16)
        left.addWidget(self._build_words())
        left.addWidget(self._build_keys(), 1)
        middle.addLayout(left, 5)
        right = QVBoxLayout()
        right.setSpacing(16)
        right.addWidget(self._build_sound())
        right.addWidget(self._build_ears(), 1)
        middle.addLayout(right, 4)
        middle.setContentsMargins(0, 0, 0, 0)
        # Where the screen is too low for all of it, the panels scroll; the foot stays.
        column.addWidget(SheetScroll(middle), 1)
        column.addLayout(self._build_foot())
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
        evaluator = self._desk.evaluator
        who = f"{evaluator.code} {evaluator.name}".strip()
        words = "Back to the pair" if self._is_from_pair else "Back to the seats"
        back = QuietButton(words)
        back.clicked.connect(self._go_back)
        row = QHBoxLayout()
        row.addWidget(FindingHeading(f"Before you listen, {who}"), 1)
        row.addWidget(back)
        return row

    def _build_words(self) -> QWidget:
        panel = QuestionPanel("What do the words mean?")
        grid = QGridLayout()
        grid.setHorizontalSpacing(24)
        grid.setVerticalSpacing(6)
        for row, attribute in enumerate(self._desk.attributes):
            name = QLabel(attribute.name)
            name.setTextFormat(Qt.TextFormat.PlainText)
            name.setFont(font("strong"))
            card = attribute.card
            if attribute.manoeuvre is not None:
                card = f"{card}; in a {attribute.manoeuvre} only"
            meaning = SoftLine(card)
            grid.addWidget(name, row, 0)
            grid.addWidget(meaning, row, 1)
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
        row = QHBoxLayout()
        row.setSpacing(8)
        row.addWidget(self._level, 1)
        row.addWidget(self._unlock)
        return row

    def _build_tone(self) -> QHBoxLayout:
        self._tone = QPushButton()
        self._tone.clicked.connect(self._presenter.play_tone)
        self._confirm = QPushButton("It has this level")
        self._confirm.clicked.connect(self._take_confirmation)
        row = QHBoxLayout()
        row.setSpacing(8)
        row.addWidget(self._tone, 1)
        row.addWidget(self._confirm, 1)
        return row

    def _build_noise(self) -> QHBoxLayout:
        presenter = self._presenter
        self._noise = QPushButton()
        self._noise.clicked.connect(presenter.play_noise)
        self._softer = QPushButton("Softer")
        self._softer.clicked.connect(lambda: presenter.change_attenuation(-1))
        self._louder = QPushButton("Louder")
        self._louder.clicked.connect(lambda: presenter.change_attenuation(1))
        row = QHBoxLayout()
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        row.addWidget(self._noise, 2)
        row.addWidget(self._softer, 1)
        row.addWidget(self._louder, 1)
        return row

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
        row = QHBoxLayout()
        row.addWidget(self._left_line, 1)
        row.addWidget(self._start)
        return row

    def _show_devices(self) -> None:
        presenter = self._presenter
        self._device.clear()
        self._device.addItem("The system's default device", None)
        names = [device.name for device in presenter.player.devices()]
        wanted = presenter.device_name
        for name in names:
            self._device.addItem(name, name)
        if wanted is not None and wanted not in names:
            # A device that is away stays chosen: it may come back.
            self._device.addItem(f"{wanted} (not connected)", wanted)
        self._device.setCurrentIndex(max(0, self._device.findData(wanted)))
        self._show()

    def _show(self) -> None:
        presenter = self._presenter
        self._device_line.setText(presenter.device_words())
        self._show_level()
        self._show_trials()
        self._ears_line.setText(presenter.ears_words())
        self._exposure_line.setText(presenter.exposure_words())
        self._left_line.setText(presenter.left_words())
        words = "Go on" if self._is_from_pair else presenter.start_words()
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
        words = filter(None, (presenter.level_words(), presenter.way_words()))
        self._level_line.setText("\n".join(words))

    def _show_trials(self) -> None:
        presenter = self._presenter
        self._tone_line.setText(presenter.tone_words())
        for widget in (self._tone_line, self._tone):
            widget.setVisible(presenter.offers_tone)
        self._confirm.setVisible(presenter.offers_tone and not presenter.is_confirmed)
        is_tone, is_noise = presenter.trial == "tone", presenter.trial == "noise"
        self._tone.setText("Stop the tone" if is_tone else "Play the tone")
        self._confirm.setEnabled(presenter.can_confirm)
        self._noise_row.setVisible(presenter.offers_noise)
        self._noise.setText("Stop" if is_noise else "Play a trial sound")

    def _show_problem(self) -> None:
        presenter = self._presenter
        trouble = presenter.player.trouble
        problem = trouble if trouble is not None else presenter.problem()
        if problem is None:
            self._messages.clear()
            return
        can_lower = trouble is None and presenter.can_lower
        action = f"Play all clips {presenter.lowering_db:.1f} dB lower" if can_lower else ""
        self._tell(problem, action)

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
