"""A quiet player with sound devices, for tests of what is set before a session."""

from PySide6.QtCore import Signal
from quiet_player import QuietPlayer

from app.playback.keeper import OutputDevice


class BriefPlayer(QuietPlayer):
    device_opened = Signal()

    def __init__(self):
        super().__init__()
        self.names = ["headphones", "monitor"]
        self.used = []
        self.device_identity = ""
        self.is_held = False
        self.gain = None

    def devices(self):
        return [OutputDevice(name, is_default=False) for name in self.names]

    def refresh_devices(self):
        self.devices_changed.emit()

    def use_device(self, name):
        self.used.append(name)
        self.is_held = False
        self.open(f"ALSA: {name or 'default'}")

    def open(self, identity):
        """Let a device of this identity have been opened."""
        self.device_identity = identity
        self.device_opened.emit()

    def hold_to_device(self):
        self.is_held = True

    def set_gain(self, gain):
        self.gain = gain
