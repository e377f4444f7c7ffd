"""The audio callback, and the open stream that calls it."""

import time
from typing import Any

import sounddevice

from app.playback.deck import Deck
from app.playback.devices import FoundDevice, device_named, look_again
from app.playback.mix import Samples
from app.playback.pair import CHANNELS
from ratings.errors import PlaybackError

STALL_S = 1.0
REST_S = 0.2


class Feed:
    """What PortAudio calls for each block: no lock, no logging, no waiting, no new arrays.

    Attributes
    ----------
    deck
        Pair that sounds; None gives silence.
    last_call_s
        Monotonic time of the latest call.
    """

    def __init__(self) -> None:
        self.deck: Deck | None = None
        self.last_call_s = 0.0

    def __call__(self, block: Samples, _frames: int, _time: object, status: Any) -> None:
        """Fill one block, as PortAudio asks."""
        self.last_call_s = time.monotonic()
        deck = self.deck
        if deck is None:
            block.fill(0.0)
        else:
            deck.fill(block, underflow=status.output_underflow)


class Output:
    """The one open stream, and whether it is alive."""

    def __init__(self, feed: Feed) -> None:
        self.feed = feed
        self._stream: Any = None
        self._opened_s = 0.0

    @property
    def is_open(self) -> bool:
        """Whether a stream was opened and not closed; it may have stopped by itself."""
        return self._stream is not None

    def open(
        self,
        name: str | None,
        sample_rate_hz: int,
        block_frames: int,
        latency_s: float | None,
        only: str | None = None,
    ) -> tuple[FoundDevice, float]:
        """Open a device and start it; returns it and its latency in s.

        Parameters
        ----------
        name
            Name as listed; None for the default device.
        sample_rate_hz, block_frames
            Frames a second, and in each call.
        latency_s
            Asked of PortAudio; None for the device's own low latency.
        only
            Identity that the device must have; None for any.

        Raises
        ------
        PlaybackError
            When the device is not there, is another one, or cannot play this.
        """
        self.close()
        look_again()
        device = device_named(name)
        if device is None:
            raise _missing(name)
        if only not in (None, device.identity):
            raise PlaybackError(f"The sound would now go to another device, '{device.name}'.")
        try:
            # Clipping stays on: the mix keeps within full scale, but where a device takes integers
            # a rounding above 1.0 would otherwise wrap around. Samples in range are the same.
            stream = sounddevice.OutputStream(
                samplerate=sample_rate_hz,
                blocksize=block_frames,
                device=device.number,
                channels=CHANNELS,
                dtype="float32",
                latency="low" if latency_s is None else latency_s,
                callback=self.feed,
                dither_off=True,
            )
            if self.feed.deck is not None:
                # Nobody knows yet how loud this device is set.
                self.feed.deck.must_rise = True
            self.feed.last_call_s = self._opened_s = time.monotonic()
            self._stream = stream
            stream.start()
        except sounddevice.PortAudioError as refusal:
            self.close()
            raise _refused(device.name, sample_rate_hz, refusal) from refusal
        return device, float(stream.latency)

    def close(self) -> None:
        """Ramp down if something sounds, and close the stream."""
        if self._stream is None:
            return
        self.come_to_rest()
        stream, self._stream = self._stream, None
        # A device that is gone refuses this too; there is nothing more to do about it.
        stream.close(ignore_errors=True)

    def come_to_rest(self) -> None:
        """Wait until the ramp down is through; a stopped stream is not waited for."""
        deck = self.feed.deck
        if deck is None:
            return
        deck.is_held = True
        latest_s = time.monotonic() + REST_S
        while not deck.is_at_rest and self.is_alive() and time.monotonic() < latest_s:
            time.sleep(0.002)

    def wait_for_next_call(self) -> None:
        """Wait until a call that may have begun earlier is surely through."""
        before_s, latest_s = self.feed.last_call_s, time.monotonic() + REST_S
        while self.feed.last_call_s == before_s and self.is_alive() and time.monotonic() < latest_s:
            time.sleep(0.002)

    def go_on(self) -> None:
        """Obey the page again after `come_to_rest`."""
        if self.feed.deck is not None:
            self.feed.deck.is_held = False

    def is_alive(self) -> bool:
        """Whether the stream runs and its callback was called within the last second."""
        return self.is_running() and time.monotonic() - self.feed.last_call_s < STALL_S

    def is_idle(self) -> bool:
        """Whether a live stream has nothing to play."""
        deck = self.feed.deck
        rests = deck is None or (deck.is_at_rest and not deck.wants_to_play)
        return self.is_alive() and rests

    def is_running(self) -> bool:
        """Whether PortAudio itself holds the stream to be running."""
        return self._stream is not None and bool(self._stream.active)

    def has_settled(self) -> bool:
        """Whether the callback is still being called well after the first buffers were filled."""
        return self.is_alive() and self.feed.last_call_s - self._opened_s > REST_S * 2


def _missing(name: str | None) -> PlaybackError:
    if name is None:
        return PlaybackError("This computer has no sound device that can be used.")
    return PlaybackError(f"The sound device '{name}' is not there.")


def _refused(name: str, sample_rate_hz: int, refusal: Exception) -> PlaybackError:
    code = refusal.args[1] if len(refusal.args) > 1 else None
    if code == INVALID_SAMPLE_RATE:
        return PlaybackError(
            f"The sound device '{name}' does not play {sample_rate_hz} samples a second."
        )
    return PlaybackError(f"The sound device '{name}' does not answer.")


# paInvalidSampleRate of portaudio.h, PortAudio 19.
INVALID_SAMPLE_RATE = -9997
