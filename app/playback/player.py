"""The player that the screens use: one pair, one position, two sides."""

import math
import time
from dataclasses import asdict, dataclass

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QCoreApplication, QObject, QTimer, Signal

from app.playback.keeper import DeviceKeeper, OutputDevice
from app.playback.memory import PairMemory, clear_leftovers
from app.playback.mix import BIN_S, Hearings
from app.playback.pair import LoadedPair, louder_level_db, prepared
from app.playback.pulse import Pulse
from ratings.errors import PlaybackError
from ratings.study.listening import Side

MOVED_MS = 33
SILENT_AFTER_S = 0.4
MOST_LOUDER_DB = 10.0
"""A pair that is louder by more than all before it rises slowly: twice as loud may be more than
another surface, such as a wrong factor (our judgement)."""


@dataclass(frozen=True, slots=True, eq=False)
class Coverage:
    """What was heard of one side.

    Attributes
    ----------
    heard_s, total_s
        Heard at least once at full weight, and the length of the clip.
    hearings
        How often the whole clip was heard.
    bins
        1 for each 50 ms that was heard, else 0.
    """

    heard_s: float
    total_s: float
    hearings: int
    bins: NDArray[np.uint8]


class Player(QObject):
    """Plays pairs through the sound process; works, silently, without any device.

    What it says of position and hearing is what was handed to the device, one buffer ahead of the
    ear.

    Signals
    -------
    state_changed
        Side, playing, looping or the pair changed.
    moved
        The position changed; about thirty times a second.
    heard_changed
        The record of what was heard changed.
    devices_changed
        The list of devices was read anew.
    device_opened
        A device was opened, perhaps another one than before.
    trouble_raised
        A PlaybackError: why nothing can be heard now. The player goes on trying.
    trouble_cleared
        The device plays again.
    """

    state_changed = Signal()
    moved = Signal()
    heard_changed = Signal()
    devices_changed = Signal()
    device_opened = Signal()
    trouble_raised = Signal(object)
    trouble_cleared = Signal()

    def __init__(self, parent: QObject | None = None, *, latency_s: float | None = None) -> None:
        super().__init__(parent)
        self._keeper = DeviceKeeper(self, latency_s=latency_s)
        self._keeper.process_ready.connect(self._on_process_ready)
        self._keeper.pair_attached.connect(self._on_pair_attached)
        self._keeper.devices_changed.connect(self.devices_changed)
        self._keeper.device_opened.connect(self._on_device_opened)
        self._keeper.trouble_raised.connect(self.trouble_raised)
        self._keeper.trouble_cleared.connect(self.trouble_cleared)
        self._memory: PairMemory | None = None
        self._is_looping = False
        self._was_playing = False
        self._heard_before = 0
        self._must_rise = True
        self._used_to_db = -math.inf
        self._callbacks = Pulse(SILENT_AFTER_S)
        clear_leftovers()
        self._timer = QTimer(self, interval=MOVED_MS)
        self._timer.timeout.connect(self._look)
        application = QCoreApplication.instance()
        if application is not None:
            application.aboutToQuit.connect(self.close)

    @property
    def trouble(self) -> PlaybackError | None:
        """Why nothing can be heard now, if so."""
        return self._keeper.trouble

    @property
    def process_id(self) -> int:
        """Number of the sound process; 0 when none runs."""
        return self._keeper.link.process_id

    @property
    def output_latency_s(self) -> float:
        """Latency that the open device states, in s."""
        return self._keeper.output_latency_s

    def devices(self) -> list[OutputDevice]:
        """List the devices found last; `refresh_devices` looks again."""
        return list(self._keeper.devices)

    def refresh_devices(self) -> None:
        """Look for devices, new ones only while nothing plays; `devices_changed` follows."""
        if self._keeper.link.is_running:
            self._keeper.send("devices")
        else:
            self._keeper.start()

    def use_device(self, name: str | None) -> None:
        """Play through the device of this name, or through the default one for None."""
        self._keeper.use(name)

    @property
    def device_identity(self) -> str:
        """Sound system and full name of the device that was opened last; empty before."""
        return self._keeper.open_identity

    def hold_to_device(self) -> None:
        """Play through no other device than the one that is open, until `use_device` is called."""
        self._keeper.hold_to_device()

    def rise_slowly(self) -> None:
        """Let the next sound rise slowly: it may be louder than anybody expects."""
        self._must_rise = True
        self._used_to_db = -math.inf
        if self._memory is not None:
            self._memory.page.rise_sequence += 1

    @property
    def is_loaded(self) -> bool:
        """Whether a pair is loaded."""
        return self._memory is not None

    @property
    def side(self) -> Side:
        """Side that sounds, or would sound."""
        return "B" if self._memory is not None and self._memory.page.wants_b else "A"

    @property
    def is_playing(self) -> bool:
        """Whether the pair plays, or will as soon as the device is back."""
        if self._memory is None:
            return False
        page = self._memory.page
        return bool(page.plays) and page.play_sequence != page.ended_sequence

    @property
    def is_rising(self) -> bool:
        """Whether the sound still rises slowly, so that it does not count as heard."""
        if self._memory is None:
            return False
        page = self._memory.page
        return bool(page.rise_sequence != page.rise_done or page.rise_left > 0)

    @property
    def is_looping(self) -> bool:
        """Whether the clip begins again at its end."""
        return self._is_looping

    @property
    def position_s(self) -> float:
        """Shared position; a seek counts at once."""
        if self._memory is None:
            return 0.0
        page = self._memory.page
        waits = page.seek_sequence != page.seek_done
        frame = page.seek_frame if waits else page.position_frame
        return float(frame) / self._memory.shape.sample_rate_hz

    @property
    def duration_s(self) -> float:
        """Length of the clips."""
        if self._memory is None:
            return 0.0
        return self._memory.shape.frames / self._memory.shape.sample_rate_hz

    def load(self, pair: LoadedPair) -> None:
        """Load a pair, at rest at the start of side A, nothing heard.

        Raises
        ------
        PlaybackError
            When the two clips cannot be played together. A missing device raises nothing here: it
            is told by `trouble_raised`.
        """
        audio = prepared(pair)
        self._let_go()
        memory = self._memory = PairMemory.create(audio)
        memory.page.gain_a, memory.page.gain_b = pair.gain_a, pair.gain_b
        memory.page.loops = self._is_looping
        level_db = louder_level_db(pair)
        if level_db > self._used_to_db + MOST_LOUDER_DB:
            self._must_rise = True
        self._used_to_db = max(self._used_to_db, level_db)
        memory.page.rise_sequence = self._must_rise
        self._heard_before = 0
        self._send_load(memory)
        self._keeper.use_rate(pair.sample_rate_hz)
        self.state_changed.emit()
        self.heard_changed.emit()
        self.moved.emit()

    def unload(self) -> None:
        """Let go of the pair; the device stays open."""
        if self._memory is not None:
            self._keeper.send("unload")
            self._let_go()
            self.state_changed.emit()

    def play(self) -> None:
        """Play from the position."""
        if self._memory is not None and not self.is_playing:
            page = self._memory.page
            page.heartbeat += 1
            page.play_sequence += 1
            page.plays = True
            self._was_playing = True
            self._timer.start()
            self.state_changed.emit()

    def pause(self) -> None:
        """Stop at the position."""
        if self._memory is not None and self.is_playing:
            self._memory.page.plays = False
            self._was_playing = False
            self.state_changed.emit()

    def toggle_play(self) -> None:
        """Play when paused, pause when playing."""
        if self.is_playing:
            self.pause()
        else:
            self.play()

    def set_gain(self, gain: float) -> None:
        """Give both sides this gain, at most the highest that the pair was loaded with."""
        if self._memory is not None:
            self._memory.page.gain_a = self._memory.page.gain_b = gain

    def switch_to(self, side: Side) -> None:
        """Cross to this side at the same position."""
        if self._memory is not None and self.side != side:
            self._memory.page.wants_b = side == "B"
            self.state_changed.emit()

    def switch(self) -> None:
        """Cross to the other side."""
        self.switch_to("A" if self.side == "B" else "B")

    def seek(self, seconds: float) -> None:
        """Go to this position, or to the nearest one in the clip."""
        if self._memory is not None:
            page, shape = self._memory.page, self._memory.shape
            frame = round(seconds * shape.sample_rate_hz)
            page.seek_frame = min(max(frame, 0), shape.frames - 1)
            page.seek_sequence += 1
            self.moved.emit()

    def set_looping(self, is_looping: bool) -> None:
        """Begin again at the end of the clip, or stop there; also for pairs loaded later."""
        self._is_looping = is_looping
        if self._memory is not None:
            self._memory.page.loops = is_looping
        self.state_changed.emit()

    def coverage(self, side: Side) -> Coverage:
        """Tell what was heard of this side since the pair was loaded."""
        if self._memory is None:
            return Coverage(0.0, 0.0, 0, np.zeros(0, np.uint8))
        hearings = self._hearings(self._memory, side)
        bins = (hearings > 0).astype(np.uint8)
        heard_s = self.duration_s if bins.all() else float(bins.sum()) * BIN_S
        return Coverage(heard_s, self.duration_s, int(hearings.min()), bins)

    def played_s(self, side: Side) -> float:
        """Time for which this side was played since the pair was loaded, for the exposure."""
        if self._memory is None:
            return 0.0
        page = self._memory.page
        frames = page.frames_played_a if side == "A" else page.frames_played_b
        return float(frames) / self._memory.shape.sample_rate_hz

    def close(self) -> None:
        """End the sound process and free all memory; safe to call twice."""
        self._keeper.close()
        self._let_go()

    @staticmethod
    def _hearings(memory: PairMemory, side: Side) -> Hearings:
        return memory.hearings_a if side == "A" else memory.hearings_b

    def _let_go(self) -> None:
        self._timer.stop()
        self._was_playing = False
        self._callbacks.rest()
        if self._memory is not None:
            self._must_rise = self.is_rising
            memory, self._memory = self._memory, None
            memory.close()

    def _send_load(self, memory: PairMemory) -> None:
        self._keeper.send("load", memory=memory.name, shape=asdict(memory.shape))

    def _on_process_ready(self) -> None:
        if self._memory is not None:
            # The name of the old block may be gone with the process that had attached itself.
            old, self._memory = self._memory, self._memory.copy()
            old.close()
            self._send_load(self._memory)

    def _on_pair_attached(self, name: str) -> None:
        if self._memory is not None and self._memory.name == name:
            self._memory.forget_name()

    def _look(self) -> None:
        if self._memory is None:
            return
        memory = self._memory
        memory.page.heartbeat += 1
        self._watch(memory)
        self.moved.emit()
        heard = int(memory.hearings_a.sum()) + int(memory.hearings_b.sum())
        if heard != self._heard_before:
            self._heard_before = heard
            self.heard_changed.emit()
        if self._was_playing and not self.is_playing:
            self._was_playing = False
            self.state_changed.emit()
        if not self.is_playing and not memory.page.sounding:
            self._timer.stop()

    def _watch(self, memory: PairMemory) -> None:
        """Tell when the sound process, or its device, takes nothing although the pair plays."""
        keeper, pulse = self._keeper, self._callbacks
        has_other_trouble = keeper.trouble is not None and not keeper.is_silence
        if keeper.is_opening or has_other_trouble or not self.is_playing:
            pulse.rest()
            return
        has_stopped = pulse.has_stopped(memory.page.callbacks, time.monotonic())
        if has_stopped and not keeper.is_silence:
            keeper.note_silence()
        elif keeper.is_silence and pulse.has_counted and not has_stopped:
            keeper.note_sound()

    def _on_device_opened(self) -> None:
        # A pair that is loaded is made to rise by the sound process itself, before its first frame.
        self._must_rise |= self._memory is None
        self.device_opened.emit()
