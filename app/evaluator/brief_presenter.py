"""What is set and checked before the first pair: device, level, trial sound; without a window."""

from PySide6.QtCore import QObject, Signal

from app.background.jobs import Job, Step
from app.listening.exposure_words import (
    dose_words,
    to_come_words,
    today_words,
    volume_words,
)
from app.listening.level_change import LevelChange, level_change
from app.listening.pair_player import TrialPlayer
from app.listening.pair_sound import SessionSound
from app.listening.seat_state import SeatState, read_seat
from app.playback.level import (
    HIGHEST_OUTPUT_DB,
    LOWEST_OUTPUT_DB,
    MOST_LOWERED_DB,
    below_in_words,
    check_output_level,
)
from app.playback.pair import LoadedPair
from app.playback.trial import TONE_DB, level_tone, trial_noise
from app.settings import Settings, output_pa_per_full_scale
from ratings.errors import PlaybackError, RatingsError
from ratings.storage.listening_desk import ListeningDesk
from ratings.study.wording import counted

STEP_DB = 3.0
LOWEST_ATTENUATION_DB, HIGHEST_ATTENUATION_DB = 0.0, 40.0
TOLERANCE_DB = 3.0
#: How long the tone must have sounded in full before its level can be confirmed.
HEARD_TONE_S = 1.0
#: Names under which sound systems hide whichever device is chosen elsewhere.
FOLLOWERS = ("default", "sysdefault", "pulse", "pipewire", "primary sound", "sound mapper")


class BriefPresenter(QObject):
    """Lets one seat's device and level be set, and checks all its clips against them.

    It stays with the seat: whoever comes back from a pair finds the level as it was confirmed.

    Attributes
    ----------
    desk, sound
        The session, and its clips as loud as is set here.
    progress
        How far the check of the clips has got; None once it is through.

    Signals
    -------
    changed
        Something said here is said differently now.
    level_lost
        The device was away and is back: the level that was confirmed no longer counts.
    """

    changed = Signal()
    level_lost = Signal()

    def __init__(
        self,
        desk: ListeningDesk,
        player: TrialPlayer,
        settings: Settings,
        seat: SeatState | None = None,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self.desk = desk
        self.player = player
        self.sound = SessionSound(desk)
        self.progress: Step | None = Step(0.0, "")
        self._settings = settings
        self._identity = ""
        self._level_db: float | None = None
        self._is_confirmed = self._was_lost = False
        self._trial: str | None = None
        self._check: Job[None] | None = None
        self.come_back(read_seat(desk) if seat is None else seat)
        player.device_opened.connect(self._on_device)
        player.state_changed.connect(self.changed)
        player.moved.connect(self._on_moved)
        self._on_device()

    def come_back(self, seat: SeatState) -> None:
        """Take what a session has changed, and let another device be chosen."""
        self._seat = seat
        self.done = sum(answers.is_locked for answers in seat.answers.values())
        self.player.refresh_devices()
        self.player.use_device(self._settings.device_name)
        self._check_clips()

    # The device

    @property
    def device_name(self) -> str | None:
        """The chosen device; None for the system's default."""
        return self._settings.device_name

    def devices(self) -> list[tuple[str, str | None]]:
        """Return the devices to choose from: words and name, None for the system's default."""
        names = [device.name for device in self.player.devices()]
        away = [] if self.device_name in (None, *names) else [self.device_name]
        return [
            ("The system's default device", None),
            *((name, name) for name in names),
            # A device that is away stays chosen: it may come back.
            *((f"{name} (not connected)", name) for name in away),
        ]

    def choose_device(self, name: str | None) -> None:
        """Play through this device from now on."""
        self.stop()
        self._settings.device_name = name
        self.player.use_device(name)

    def device_words(self) -> str:
        """Say which device is open, and whether it may change unseen."""
        if not self._identity:
            return "No device is open yet."
        if self.player.trouble is not None:
            return f"Not open now: {self._identity}."
        words = f"Open: {self._identity}."
        if any(name in self._identity.lower() for name in FOLLOWERS):
            words += " " + (
                "It follows the system's choice: choose the headphones themselves, and the level "
                "holds."
            )
        return words

    def _on_device(self) -> None:
        if self.player.device_identity == self._identity:
            if self.is_confirmed and self.player.trouble is not None:
                # It was away: its volume, or what is plugged into it, may be another.
                self._was_lost = True
                self._confirm(is_confirmed=False)
                self.level_lost.emit()
            return
        self._identity = self.player.device_identity
        level_db = self._settings.full_scale_sine_db(self._identity)
        # Settings may be edited, or damaged: what no headphones give was never measured.
        can_be = level_db is not None and LOWEST_OUTPUT_DB <= level_db <= HIGHEST_OUTPUT_DB
        self._take_level(level_db if can_be else None)

    # The level

    @property
    def can_set_level(self) -> bool:
        """Whether a device is open, whose level could be given."""
        return bool(self._identity)

    @property
    def level_db(self) -> float | None:
        """Level at the ear of a full-scale sine on the open device; None when not measured."""
        return self._level_db

    @property
    def is_confirmed(self) -> bool:
        """Whether somebody has checked the level by the tone on this device."""
        return self._is_confirmed

    def set_level(self, level_db: float | None) -> None:
        """Take what was measured on the open device; None takes it back.

        Raises
        ------
        PlaybackError
            For a level that no headphones give.
        """
        if level_db is not None:
            check_output_level(level_db)
        if level_db != self._level_db:
            self._settings.set_full_scale_sine_db(self._identity, level_db)
            self._take_level(level_db)
        self.changed.emit()

    def _take_level(self, level_db: float | None) -> None:
        self.stop()
        self._level_db = level_db
        self._confirm(is_confirmed=False)

    def _confirm(self, *, is_confirmed: bool) -> None:
        self._is_confirmed = is_confirmed
        is_known = is_confirmed and self._level_db is not None
        self.sound.output_pa_per_full_scale = (
            output_pa_per_full_scale(self._level_db) if is_known and self._level_db else None
        )
        self.sound.lowered_db = 0.0
        self.changed.emit()

    @property
    def offers_tone(self) -> bool:
        """Whether there is a level to be checked by the tone."""
        return self._level_db is not None and self.sound.is_calibrated

    @property
    def can_confirm(self) -> bool:
        """Whether the tone has been heard, so that its level can be confirmed."""
        if self._trial != "tone" or self._is_confirmed:
            return False
        return self.player.coverage("A").heard_s >= HEARD_TONE_S

    def confirm(self) -> None:
        """Take the level as checked: the tone has the level that it should have."""
        if self.can_confirm:
            self.stop()
            self._was_lost = False
            self._confirm(is_confirmed=True)

    def tone_words(self) -> str:
        """Say what the tone should be like."""
        if not self.offers_tone:
            return ""
        if self._is_confirmed:
            return "Checked by the tone."
        return (
            f"The tone must give {TONE_DB:.0f} dB at the ear, within "
            f"{TOLERANCE_DB:.0f} dB: about as loud as people talking at 1 m. If it is "
            "louder or softer, the figure above is wrong."
        )

    def level_words(self) -> str:
        """Say how loud the clips are played."""
        if not self.sound.is_calibrated:
            return f"The recordings are not calibrated: {self._unknown_words()}"
        if self._level_db is None:
            return f"The output is not calibrated: {self._unknown_words()}"
        if not self._is_confirmed:
            return f"The output's level is not checked yet: {self._unknown_words()}"
        # Where they would be too loud, nothing is played at that level.
        return "" if self.lowering_db else below_in_words(self.sound.lowered_db)

    def loudness_words(self) -> str:
        """Say how loud the clips are played, and whether it is another level than before."""
        return "\n".join(filter(None, (self.level_words(), self.way_words())))

    def _unknown_words(self) -> str:
        return (
            f"same gain for both sides, {self.sound.attenuation_db:.0f} dB below full "
            "output; true level unknown."
        )

    def way_words(self) -> str:
        """Say when a session under way goes on at another level than before."""
        if not self.done:
            return ""
        change = level_change(self.desk.pairs, self._seat.answers, self.sound.level)
        if change is not None:
            return self._change_words(change)
        if any(answers.level is not None for answers in self._seat.answers.values()):
            return ""
        if self.sound.is_at_known_level and self._seat.had_unknown:
            return (
                "Pairs before this were played at an unknown level; from here on it is known. Tell "
                "the person in charge."
            )
        if not self.sound.is_at_known_level and self._seat.had_known:
            return (
                "Pairs before this were played at a known level; from here on it is unknown. Tell "
                "the person in charge."
            )
        return ""

    def _change_words(self, change: LevelChange) -> str:
        by_ear = change.now.output_db is None and change.before.output_db is None
        if by_ear:
            to_do = "Louder and Softer bring it back; if not, tell the person in charge."
        else:
            to_do = "Tell the person in charge."
        return f"{change.words()} {to_do}"

    # Trial sounds

    @property
    def trial(self) -> str | None:
        """Which trial sounds: ``tone``, ``noise``, or None."""
        return self._trial if self.player.is_playing else None

    @property
    def asks_for_confirmation(self) -> bool:
        """Whether the level waits for somebody to hear the tone and confirm it."""
        return self.offers_tone and not self._is_confirmed

    def tone_step(self) -> str:
        """Say what the button of the tone does."""
        return "Stop the tone" if self.trial == "tone" else "Play the tone"

    def noise_step(self) -> str:
        """Say what the button of the trial noise does."""
        return "Stop" if self.trial == "noise" else "Play a trial sound"

    def play_tone(self) -> None:
        """Play the tone that the level is checked by, or stop it."""
        if self.trial == "tone" or self._level_db is None:
            self.stop()
            return
        self._play("tone", level_tone(self._level_db))

    def play_noise(self) -> None:
        """Play a noise as loud as the loudest clip, or stop it."""
        if self.trial == "noise":
            self.stop()
            return
        loudest_db = self.sound.loudest_db_a_re_full_scale
        self._play("noise", trial_noise(loudest_db, self._trial_gain()))

    def stop(self) -> None:
        """Let no trial sound."""
        if self._trial is not None:
            self._trial = None
            self.player.unload()
            self.changed.emit()

    def _play(self, kind: str, sound: LoadedPair) -> None:
        self.stop()
        self.player.rise_slowly()
        self.player.load(sound)
        self.player.set_looping(True)
        self._trial = kind
        self.player.play()
        self.changed.emit()

    def _trial_gain(self) -> float:
        return float(10.0 ** (-self.sound.attenuation_db / 20.0))

    @property
    def offers_noise(self) -> bool:
        """Whether the level is set by ear, by a noise as loud as the loudest clip."""
        return self.progress is None and not self.sound.is_at_known_level

    def change_attenuation(self, steps: int) -> None:
        """Play all clips so many steps louder, or softer for a negative number."""
        wished_db = self.sound.attenuation_db - steps * STEP_DB
        self.sound.attenuation_db = min(
            max(wished_db, LOWEST_ATTENUATION_DB), HIGHEST_ATTENUATION_DB
        )
        if self._trial == "noise":
            self.player.set_gain(self._trial_gain())
        self.changed.emit()

    # The check of all clips

    @property
    def lowering_db(self) -> float:
        """How far all clips must be lowered to be played at all; 0 when they need not."""
        if self.progress is not None:
            return 0.0
        needed_db = self.sound.lowering_db()
        return needed_db if needed_db > self.sound.lowered_db else 0.0

    @property
    def can_lower(self) -> bool:
        """Whether lowering all clips alike is a way out."""
        return 0.0 < self.lowering_db <= MOST_LOWERED_DB

    def lower(self) -> None:
        """Play all clips lower, just enough for all of them to be played."""
        if self.can_lower:
            self.sound.lowered_db = self.lowering_db
            self.changed.emit()

    def way_out(self) -> str:
        """Say which step is offered beside the problem; empty for none."""
        if self.player.trouble is not None or not self.can_lower:
            return ""
        return f"Play all clips {self.lowering_db:.1f} dB lower"

    def problem(self) -> RatingsError | None:
        """Return what is wrong with the device, or with the clips as they would be played."""
        if self.player.trouble is not None:
            return self.player.trouble
        if self._was_lost:
            return PlaybackError(
                "The sound device was away: its level is not checked any more.",
                (
                    f"Check it by the tone; or go on without, {self.sound.attenuation_db:.0f} "
                    "dB below full output, at an unknown level."
                ),
            )
        if self.progress is not None:
            return None
        count = len(self.desk.pairs)
        if self.lowering_db > MOST_LOWERED_DB:
            return PlaybackError(
                (f"The recorded level is {self.lowering_db:.1f} dB too much for this output."),
                "The measured level can hardly be right: measure it again.",
            )
        if self.lowering_db:
            return PlaybackError(
                "At the recorded level clips would be too loud for the output or the ear.",
                f"All clips can be played {self.lowering_db:.1f} dB lower, alike.",
            )
        if self.sound.too_loud():
            return PlaybackError("Clips would exceed full scale.", "Play all clips softer.")
        if self.sound.far_apart():
            return PlaybackError(
                (
                    f"{self.sound.far_apart()} of {count} pairs cannot be played: their sides "
                    "are too far apart."
                ),
                self._aside_words(),
            )
        if self.sound.unreadable:
            return PlaybackError(
                f"The sound of {self.sound.unreadable} of {count} pairs cannot be read.",
                self._aside_words(),
            )
        return self._seat.elsewhere.problem

    def _aside_words(self) -> str:
        return "When one comes, S sets it aside. Tell the person in charge."

    @property
    def can_begin(self) -> bool:
        """Whether the clips are checked and can be played."""
        return self.progress is None and not self.lowering_db and not self.sound.too_loud()

    def begin(self) -> None:
        """End the trials, and keep to the device whose level was set."""
        self.stop()
        self._was_lost = False
        self.player.hold_to_device()

    def _check_clips(self) -> None:
        """Check all clips; again at every coming back, for files come and go, without waiting."""
        if self._check is not None:
            return
        self._check = Job(self.sound.measure, self)
        self._check.stepped.connect(self._on_step)
        self._check.succeeded.connect(self._on_checked)
        self._check.ended.connect(self._on_check_ended)
        self._check.start()

    def _on_step(self, step: Step) -> None:
        if self.progress is not None:
            self.progress = step
            self.changed.emit()

    def _on_checked(self) -> None:
        self.progress = None
        self.changed.emit()

    def _on_check_ended(self) -> None:
        self._check = None

    def _on_moved(self) -> None:
        if self._trial == "tone":
            self.changed.emit()

    # What is said

    def heading(self) -> str:
        """Greet whoever has the seat."""
        evaluator = self.desk.evaluator
        return f"Before you listen, {f'{evaluator.code} {evaluator.name}'.strip()}"

    def attributes(self) -> list[tuple[str, str]]:
        """Return what is rated: the name of each attribute, and what it means."""
        return [
            (each.name, f"{each.card}; in a {each.manoeuvre} only" if each.manoeuvre else each.card)
            for each in self.desk.attributes
        ]

    def start_words(self, *, is_from_pair: bool = False) -> str:
        """Say what the button to the pairs does."""
        return "Go on" if self.done or is_from_pair else "Start listening"

    def left_words(self) -> str:
        """Say how much is left, or how far the check has got."""
        if self.progress is not None:
            return f"Checking the clips: {self.progress.words}"
        left = len(self.desk.pairs) - self.done
        minutes = max(1, round(self._seat.seconds_left / 60))
        words = f"{counted(left, 'pair')} {'is' if left == 1 else 'are'} left, about {minutes} min."
        if any(self.done < after for after in self.desk.breaks):
            words += " " + "A break is proposed on the way."
        return words

    def ears_words(self) -> str:
        """Say how to set the volume, and when to stop."""
        return volume_words(is_known=self.sound.is_at_known_level, has_begun=bool(self.done))

    def exposure_words(self) -> str:
        """Say what was played today, and what the session will add at the level set here."""
        level_db_a = self.sound.level_db_a()
        sentences = (
            today_words(self._seat.today),
            to_come_words(self._seat.today, self._seat.seconds_left, level_db_a),
            dose_words(self._seat.today),
        )
        return "\n".join(filter(None, sentences))
