"""What an evaluator reads and sets before the first pair: words, level, device, cautions."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QShowEvent
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.background.jobs import Job
from app.evaluator.exposure_words import dose_words, to_come_words, today_words
from app.evaluator.pair_sound import SessionSound
from app.evaluator.session_keys import key_card
from app.parts.buttons import PrimaryButton, QuietButton
from app.parts.fields import Choice, NumberField, once_read
from app.parts.fonts import font
from app.parts.headings import FindingHeading, QuestionPanel, SoftLine
from app.parts.message_bar import MessageBar
from app.playback.dose import Listened
from app.playback.player import Player
from app.settings import Settings
from ratings.errors import RatingsError
from ratings.storage.listening_desk import ListeningDesk

#: Below this the field reads "not measured".
_UNKNOWN_DB = 39.0


class BriefPage(QWidget):
    """Shows the attributes' cards, and lets the sound device and its level be set.

    Attributes
    ----------
    sound
        The clips of the session, as loud as is set here.

    Signals
    -------
    begun
        The evaluator is ready for the pairs.
    left
    """

    begun = Signal()
    left = Signal()

    def __init__(
        self, desk: ListeningDesk, player: Player, settings: Settings, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._desk = desk
        self._player = player
        self._settings = settings
        self._left_s = desk.seconds_left()
        self._today = Listened.of(desk.exposure_today())
        self.sound = SessionSound(desk, settings.output_pa_per_full_scale)
        self._check = Job(self.sound.measure, self)
        self._check.succeeded.connect(self._show_level)
        self._messages = MessageBar()
        column = QVBoxLayout(self)
        column.setContentsMargins(40, 24, 40, 24)
        column.setSpacing(12)
        column.addLayout(self._build_top())
        column.addWidget(self._messages)
        middle = QHBoxLayout()
        middle.setSpacing(16)
        left = QVBoxLayout()
        left.setSpacing(16)
        left.addWidget(self._build_words(), 1)
        left.addWidget(self._build_keys())
        middle.addLayout(left, 5)
        right = QVBoxLayout()
        right.setSpacing(16)
        right.addWidget(self._build_sound())
        right.addWidget(self._build_ears(), 1)
        middle.addLayout(right, 4)
        inside = QWidget()
        middle.setContentsMargins(0, 0, 0, 0)
        inside.setLayout(middle)
        # Where the screen is too low for all of it, the panels scroll; the foot stays.
        scroll = QScrollArea()
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setWidget(inside)
        column.addWidget(scroll, 1)
        column.addLayout(self._build_foot())
        player.devices_changed.connect(self._show_devices)
        player.trouble_raised.connect(self._tell)
        player.trouble_cleared.connect(self._messages.clear)
        self._show_devices()
        player.refresh_devices()
        player.use_device(settings.device_name)
        if player.trouble is not None:
            self._tell(player.trouble)
        self._check.start()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc goes back."""
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def showEvent(self, event: QShowEvent) -> None:
        """Let Enter or Space begin."""
        super().showEvent(event)
        self._start.setFocus(Qt.FocusReason.OtherFocusReason)

    def _build_top(self) -> QHBoxLayout:
        evaluator = self._desk.evaluator
        who = f"{evaluator.code} {evaluator.name}".strip()
        back = QuietButton(self.tr("Back to the seats"))
        back.clicked.connect(self.left)
        row = QHBoxLayout()
        row.addWidget(FindingHeading(self.tr("Before you listen, {0}").format(who)), 1)
        row.addWidget(back)
        return row

    def _build_words(self) -> QWidget:
        panel = QuestionPanel(self.tr("What do the words mean?"))
        grid = QGridLayout()
        grid.setHorizontalSpacing(24)
        grid.setVerticalSpacing(10)
        for row, attribute in enumerate(self._desk.attributes):
            name = QLabel(attribute.name)
            name.setTextFormat(Qt.TextFormat.PlainText)
            name.setFont(font("strong"))
            card = attribute.card
            if attribute.manoeuvre is not None:
                card = self.tr("{0}; in a {1} only").format(card, attribute.manoeuvre)
            meaning = QLabel(card)
            meaning.setTextFormat(Qt.TextFormat.PlainText)
            meaning.setProperty("look", "soft")
            grid.addWidget(name, row, 0)
            grid.addWidget(meaning, row, 1)
        grid.setColumnStretch(1, 1)
        panel.body.addLayout(grid)
        panel.body.addSpacing(8)
        scale = SoftLine(self.tr("10 is nothing to hear, 5 is borderline, 1 is not acceptable."))
        scale.setWordWrap(False)
        panel.body.addWidget(scale)
        panel.body.addStretch(1)
        return panel

    def _build_keys(self) -> QWidget:
        panel = QuestionPanel(self.tr("How is a pair rated?"))
        grid = QGridLayout()
        grid.setHorizontalSpacing(16)
        grid.setVerticalSpacing(6)
        for row, (key, what) in enumerate(key_card()[:8]):
            cap = QLabel(key)
            cap.setProperty("look", "key")
            cap.setFont(font("small"))
            cap.setAlignment(Qt.AlignmentFlag.AlignCenter)
            grid.addWidget(cap, row // 2, 2 * (row % 2))
            words = QLabel(what)
            words.setProperty("look", "soft")
            grid.addWidget(words, row // 2, 2 * (row % 2) + 1)
        grid.setColumnStretch(1, 1)
        grid.setColumnStretch(3, 1)
        panel.body.addLayout(grid)
        mouse = SoftLine(
            self.tr(
                "Mouse: click a side to hear it, click or drag on a rail, right-click takes back."
            )
        )
        mouse.setWordWrap(False)
        panel.body.addWidget(mouse)
        return panel

    def _build_sound(self) -> QWidget:
        panel = QuestionPanel(self.tr("Where does the sound go?"))
        self._device = Choice(self.tr("sound device"))
        self._device.activated.connect(self._choose_device)
        panel.body.addWidget(self._device)
        panel.body.addWidget(SoftLine(self.tr("A full-scale 1 kHz sine on this device gives")))
        self._level = NumberField(
            self.tr("level of a full-scale sine at the ear, in dB"),
            *(_UNKNOWN_DB, 140.0),
            decimals=1,
            unit=self.tr("dB at the ear"),
            nothing=self.tr("not measured"),
        )
        self._level.valueChanged.connect(self._choose_level)
        self._unlock = QPushButton(self.tr("Change"))
        self._unlock.clicked.connect(self._allow_change)
        row = QHBoxLayout()
        row.setSpacing(8)
        row.addWidget(self._level, 1)
        row.addWidget(self._unlock)
        panel.body.addLayout(row)
        self._level_line = SoftLine()
        panel.body.addWidget(self._level_line)
        return panel

    def _build_ears(self) -> QWidget:
        panel = QuestionPanel(self.tr("Is it safe for your ears?"))
        self._ears_line = SoftLine()
        self._exposure_line = SoftLine()
        panel.body.addWidget(self._ears_line)
        panel.body.addWidget(self._exposure_line)
        panel.body.addStretch(1)
        return panel

    def _build_foot(self) -> QHBoxLayout:
        done = sum(answers.is_locked for answers in self._desk.answers().values())
        left = len(self._desk.pairs) - done
        minutes = max(1, round(self._left_s / 60))
        words = self.tr("{0} pairs are left, about {1} minutes.").format(left, minutes)
        if any(done < after for after in self._desk.breaks):
            words += " " + self.tr("A break is proposed on the way.")
        self._start = PrimaryButton(self.tr("Start listening") if not done else self.tr("Go on"))
        self._start.clicked.connect(once_read(self, self.begun.emit))
        self._start.setAutoDefault(True)
        row = QHBoxLayout()
        row.addWidget(SoftLine(words), 1)
        row.addWidget(self._start)
        return row

    def _show_devices(self) -> None:
        self._device.clear()
        self._device.addItem(self.tr("The system's default device"), None)
        names = [device.name for device in self._player.devices()]
        wanted = self._settings.device_name
        for name in names:
            self._device.addItem(name, name)
        if wanted is not None and wanted not in names:
            # A device that is away stays chosen: it may come back.
            self._device.addItem(self.tr("{0} (not connected)").format(wanted), wanted)
        self._device.setCurrentIndex(max(0, self._device.findData(wanted)))
        self._show_level()

    def _choose_device(self, index: int) -> None:
        name = self._device.itemData(index)
        self._settings.device_name = name
        self._player.use_device(name)
        self._show_level()

    def _show_level(self) -> None:
        known = self._settings.full_scale_sine_db(self._settings.device_name)
        # The level is measured once and must not change by a stray key or wheel.
        self._level.setEnabled(False)
        self._unlock.setEnabled(True)
        self._level.blockSignals(True)
        self._level.setValue(_UNKNOWN_DB if known is None else known)
        self._level.blockSignals(False)
        self._say_level(known)

    def _allow_change(self) -> None:
        self._level.setEnabled(True)
        self._unlock.setEnabled(False)
        self._level.setFocus()
        self._level.selectAll()

    def _choose_level(self, level_db: float) -> None:
        known = None if level_db <= _UNKNOWN_DB else level_db
        self._settings.set_full_scale_sine_db(self._settings.device_name, known)
        self._say_level(known)

    def _say_level(self, known_db: float | None) -> None:
        is_calibrated = self.sound.is_calibrated
        stop = self.tr(
            "Stop when it is uncomfortable. The rules of your site and its hearing protection "
            "come first."
        )
        if not is_calibrated:
            words = self.tr("The recordings are not calibrated: levels are equal, not true.")
        elif known_db is None:
            words = self.tr("Not level-true: differences between clips are kept, the level is not.")
        else:
            words = self.tr("Level-true: played as loud as it was recorded.")
        self._level_line.setText(words)
        if is_calibrated and known_db is not None:
            ears = self.tr("Leave the volume as it was when the level was measured.")
        else:
            ears = self.tr(
                "Set the volume low now: the first pair plays at once. Raise it until it sounds as "
                "in the car, then leave it there."
            )
        self._ears_line.setText(f"{ears} {stop}")
        self._exposure_line.setText(self.exposure_words())

    def exposure_words(self) -> str:
        """Say what was played today, and what the session will add at the level set here."""
        self.sound.output_pa_per_full_scale = self._settings.output_pa_per_full_scale
        level_db_a = self.sound.level_db_a()
        sentences = (
            today_words(self._today),
            to_come_words(self._today, self._left_s, level_db_a),
            dose_words(self._today),
        )
        return "\n".join(filter(None, sentences))

    def _tell(self, problem: RatingsError) -> None:
        self._messages.tell(problem.what_happened, problem.what_to_do, "attention")
