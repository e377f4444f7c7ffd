"""A player without sound for tests of the session: it hears what the test says was heard."""

import math

import numpy as np
from PySide6.QtCore import QObject, Signal

from app.playback.mix import BIN_S
from app.playback.player import Coverage


class QuietPlayer(QObject):
    state_changed = Signal()
    moved = Signal()
    heard_changed = Signal()
    devices_changed = Signal()
    trouble_raised = Signal(object)
    trouble_cleared = Signal()

    def __init__(self):
        super().__init__()
        self.side = "A"
        self.is_playing = False
        self.is_looping = False
        self.is_rising = False
        self.position_s = 0.0
        self.duration_s = 0.0
        self.trouble = None
        self.loaded = []
        self.rises = 0
        self._must_rise = False
        #: Whether each pair loaded rises slowly.
        self.rising = []
        self._heard_s = {"A": 0.0, "B": 0.0}
        self._played_s = {"A": 0.0, "B": 0.0}

    def load(self, pair):
        self.loaded.append(pair)
        self.rising.append(self._must_rise)
        self._must_rise = False
        self.duration_s = len(pair.a) / pair.sample_rate_hz
        self.position_s = 0.0
        self._heard_s = {"A": 0.0, "B": 0.0}
        self._played_s = {"A": 0.0, "B": 0.0}
        self.side = "A"
        self.state_changed.emit()

    def unload(self):
        self.is_playing = False
        self.duration_s = 0.0
        self._played_s = {"A": 0.0, "B": 0.0}

    def rise_slowly(self):
        self.rises += 1
        self._must_rise = True

    def play(self):
        self.is_playing = True
        self.state_changed.emit()

    def pause(self):
        self.is_playing = False
        self.state_changed.emit()

    def toggle_play(self):
        self.is_playing = not self.is_playing
        self.state_changed.emit()

    def switch(self):
        self.switch_to("B" if self.side == "A" else "A")

    def switch_to(self, side):
        self.side = side
        self.state_changed.emit()

    def seek(self, seconds):
        self.position_s = seconds
        self.moved.emit()

    def set_looping(self, is_looping):
        self.is_looping = is_looping
        self.state_changed.emit()

    def coverage(self, side):
        heard_s = self._heard_s[side]
        bins = np.zeros(math.ceil(self.duration_s / BIN_S), np.uint8)
        bins[: round(heard_s / BIN_S)] = 1
        return Coverage(heard_s, self.duration_s, int(heard_s >= self.duration_s > 0), bins)

    def played_s(self, side):
        return self._played_s[side]

    def pass_time(self, seconds):
        """Let so many seconds go by: they count for the sounding side if it plays."""
        if self.is_playing:
            self._played_s[self.side] += seconds

    def hear(self, side, seconds):
        """Let so many seconds of a side have been heard."""
        self._heard_s[side] = min(seconds, self.duration_s)
        self.heard_changed.emit()

    def hear_both(self):
        self.hear("A", 100.0)
        self.hear("B", 100.0)
