"""Keeps a sound device open, tells when it is lost, and tries again by itself."""

from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QElapsedTimer, QObject, QTimer, Signal

from app.playback.link import SoundLink
from ratings.errors import PlaybackError

RETRY_MS = 2000
ANSWER_MS = 5000
DEFAULT_RATE_HZ = 48000
BLOCK_FRAMES = 256

SAFE = "Your scores are safe."
PLUG_IN = f"{SAFE} Plug it in again or choose another device; playback goes on where it stopped."
PLUG_ONE_IN = f"{SAFE} Plug one in or switch it on; playback begins by itself when it is there."
INSTALL = f"{SAFE} Install PortAudio (Debian: libportaudio2), then choose the sound device again."


@dataclass(frozen=True, slots=True)
class OutputDevice:
    """A sound device that can be chosen by its name."""

    name: str
    is_default: bool


class DeviceKeeper(QObject):
    """The wish for a device, and the process that fulfils it.

    Signals
    -------
    process_ready
        A new sound process listens, and knows nothing yet.
    device_opened
        A device was opened; `open_identity` says which.
    pair_attached
        The process has opened the memory of this name.
    devices_changed
        The list of devices was read anew.
    trouble_raised
        A PlaybackError: why nothing can be heard. Once for each different reason.
    trouble_cleared
        The device plays again.
    """

    process_ready = Signal()
    device_opened = Signal()
    pair_attached = Signal(str)
    devices_changed = Signal()
    trouble_raised = Signal(object)
    trouble_cleared = Signal()

    def __init__(self, parent: QObject | None = None, *, latency_s: float | None = None) -> None:
        super().__init__(parent)
        self.link = SoundLink(self)
        self.devices: list[OutputDevice] = []
        self.trouble: PlaybackError | None = None
        self.output_latency_s = 0.0
        self._latency_s = latency_s
        self._wanted_name: str | None = None
        self._open_name = ""
        self.open_identity = ""
        self._only: str | None = None
        self.is_silence = False
        self._rate_hz = DEFAULT_RATE_HZ
        self._is_wanted = False
        self._is_listening = False
        self._must_restart = False
        self._life = QElapsedTimer()
        self._retry = QTimer(self, singleShot=True, interval=RETRY_MS)
        self._answer = QTimer(self, singleShot=True, interval=ANSWER_MS)
        self._retry.timeout.connect(self._try_again)
        self._answer.timeout.connect(self._on_no_answer)
        self.link.reported.connect(self._on_report)
        self.link.ended.connect(self._on_ended)

    def start(self) -> None:
        """Start the sound process, unless it runs."""
        if not self.link.is_running:
            self._is_listening = False
            self._life.start()
            self.link.start()

    def use(self, name: str | None) -> None:
        """Want the device of this name from now on; None for the default one."""
        self._wanted_name = name
        self._only = None
        self._is_wanted = True
        self._open()

    def hold_to_device(self) -> None:
        """Open no other device from now on than the one that is open, until `use` says so."""
        self._only = self.open_identity or None

    @property
    def is_opening(self) -> bool:
        """Whether a device was asked for and has not answered yet."""
        return self._answer.isActive() or not self._is_listening

    def note_silence(self) -> None:
        """Tell that the device takes nothing although something plays; a new process may help."""
        self.is_silence = self._must_restart = True
        self._raise(f"The sound device '{self._open_name}' does not answer.", PLUG_IN)

    def note_sound(self) -> None:
        """Take back what `note_silence` told."""
        self._clear()

    def use_rate(self, sample_rate_hz: int) -> None:
        """Want the device open at this rate."""
        is_new = sample_rate_hz != self._rate_hz or not self._is_wanted
        self._rate_hz = sample_rate_hz
        self._is_wanted = True
        if is_new or not self.link.is_running:
            self._open()

    def send(self, do: str, **facts: object) -> None:
        """Send an order to a process that listens; otherwise `process_ready` will come."""
        if self._is_listening:
            self.link.send(do, **facts)

    def close(self) -> None:
        """End the sound process; nothing is tried again."""
        self._is_wanted = self._is_listening = False
        self._retry.stop()
        self._answer.stop()
        self.link.close()

    def _open(self) -> None:
        self._retry.stop()
        if self._must_restart and self.link.is_running:
            self.link.kill()
            return
        if not self._is_listening:
            self.start()
            return
        self._answer.start()
        self.send(
            "open",
            device=self._wanted_name,
            sample_rate_hz=self._rate_hz,
            block_frames=BLOCK_FRAMES,
            latency_s=self._latency_s,
            only=self._only,
        )

    def _on_report(self, report: dict[str, Any]) -> None:
        match report["event"]:
            case "ready":
                self._on_ready()
            case "devices":
                self.devices = [OutputDevice(*facts) for facts in report["devices"]]
                self.devices_changed.emit()
            case "loaded":
                self.pair_attached.emit(report["memory"])
            case "opened":
                self._answer.stop()
                self._open_name = report["device"]
                self.open_identity = report["identity"]
                self.output_latency_s = report["latency_s"]
                self.device_opened.emit()
            case "running":
                self._clear()
            case "refused":
                self._answer.stop()
                self._raise(report["words"], PLUG_IN if self._wanted_name else PLUG_ONE_IN)
            case "stopped" | "stalled":
                # A stalled stream can hold up its own closing: only a new process is sure to help.
                self._must_restart = report["event"] == "stalled"
                self._raise(f"The sound device '{self._open_name}' does not answer.", PLUG_IN)
            case "no_library":
                self._raise("The sound library PortAudio is not installed.", INSTALL)
                self._retry.stop()

    def _on_ready(self) -> None:
        self._is_listening = True
        self.send("devices")
        self.process_ready.emit()
        if self._is_wanted:
            self._open()

    def _on_ended(self) -> None:
        self._is_listening = False
        self._answer.stop()
        if self._must_restart:
            self._must_restart = False
            self.start()
        elif self._life.hasExpired(RETRY_MS):
            # It worked for a while, so a fresh one will: nobody needs to be told of a short gap.
            self.start()
        elif self.trouble is None:
            words = self.link.last_words or "it gave no reason"
            self._raise(f"The sound process ended by itself: {words}.", f"{SAFE} It starts again.")
        elif self.trouble.what_to_do != INSTALL:
            self._retry.start()

    def _on_no_answer(self) -> None:
        self._must_restart = True
        name = self._wanted_name or self._open_name
        self._raise(f"The sound device '{name}' does not answer.", PLUG_IN)

    def _try_again(self) -> None:
        if self._is_wanted:
            self._open()
        else:
            self.start()

    def _raise(self, what_happened: str, what_to_do: str) -> None:
        self._retry.start()
        if self.trouble is None or self.trouble.what_happened != what_happened:
            self.trouble = PlaybackError(what_happened, what_to_do)
            self.trouble_raised.emit(self.trouble)

    def _clear(self) -> None:
        self._retry.stop()
        self._must_restart = self.is_silence = False
        if self.trouble is not None:
            self.trouble = None
            self.trouble_cleared.emit()
