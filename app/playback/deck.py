"""The mix under the orders of the page: what the callback runs, without a device."""

import time

from app.playback.memory import PairMemory
from app.playback.mix import Mixer, MixState, Samples


class Deck:
    """Plays the pair of one block of memory, from where its page says.

    Attributes
    ----------
    is_held
        Ramps down and stays at rest, whatever the page wants; for an orderly change of device.
    """

    def __init__(self, memory: PairMemory) -> None:
        self._page = page = memory.page
        self._mixer = Mixer(memory.audio)
        self._state = MixState(
            memory.hearings_a,
            memory.hearings_b,
            position_frame=page.position_frame,
            frames_played_a=page.frames_played_a,
            frames_played_b=page.frames_played_b,
        )
        self.is_held = False

    @property
    def is_at_rest(self) -> bool:
        """Whether nothing sounds."""
        return self._state.level == 0

    @property
    def wants_to_play(self) -> bool:
        """Whether the page asks for sound."""
        page = self._page
        return bool(page.plays) and page.play_sequence != page.ended_sequence

    def fill(self, block: Samples, *, underflow: bool = False) -> None:
        """Take the page's orders, render one block and report.

        Parameters
        ----------
        block
            Shape (frames, 2); filled.
        underflow
            Whether the device ran dry before this block.
        """
        page, state = self._page, self._state
        play_sequence = page.play_sequence
        self._take_orders(play_sequence)
        self._mixer.render(state, block)
        if state.ended:
            page.ended_sequence = play_sequence
            state.ended = False
        page.position_frame = state.position_frame
        page.sounds_b = state.fade * 2 > self._mixer.fade_frames
        page.sounding = state.level > 0
        page.frames_played_a = state.frames_played_a
        page.frames_played_b = state.frames_played_b
        page.callbacks += 1
        page.underflows += underflow
        page.last_callback_s = time.monotonic()

    def _take_orders(self, play_sequence: int) -> None:
        page, state = self._page, self._state
        ended = play_sequence == page.ended_sequence
        state.plays = bool(page.plays) and not ended and not self.is_held
        state.wants_b = bool(page.wants_b)
        state.loops = bool(page.loops)
        self._mixer.set_gains(state, page.gain_a, page.gain_b)
        # The target is written before its number: a newer target under an older number is
        # fetched once more, never lost.
        seek_sequence = page.seek_sequence
        if seek_sequence != page.seek_done:
            state.seek_frame = page.seek_frame
            page.seek_done = seek_sequence
