"""The mix under the orders of the page: what the callback runs, without a device."""

import time

from app.playback.memory import PairMemory
from app.playback.mix import Mixer, MixState, Samples, keep_within_full_scale
from app.playback.pulse import Pulse

ALONE_S = 0.3
"""Without a sign of life from the window for so long, there is silence: nobody could stop it. The
window holds itself up for some tens of milliseconds when it writes a score to a slow disk."""


class Deck:
    """Plays the pair of one block of memory, from where its page says.

    Attributes
    ----------
    is_held
        Ramps down and stays at rest, whatever the page wants; for an orderly change of device.
    must_rise
        The next sound rises slowly; set from another thread, taken by the callback.
    """

    def __init__(self, memory: PairMemory) -> None:
        self._page = page = memory.page
        self._mixer = Mixer(memory.audio)
        self._state = MixState(
            memory.hearings_a,
            memory.hearings_b,
            position_frame=min(max(page.position_frame, 0), self._mixer.frames - 1),
            frames_played_a=page.frames_played_a,
            frames_played_b=page.frames_played_b,
        )
        self._window = Pulse(ALONE_S, is_expected=True)
        self.is_held = self.must_rise = False

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
        keep_within_full_scale(block)
        if state.ended:
            page.ended_sequence = play_sequence
            state.ended = False
        page.position_frame = state.position_frame
        page.rise_left = state.rise_left
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
        is_alone = self._window.has_stopped(page.heartbeat, time.monotonic())
        state.plays = bool(page.plays) and not (ended or self.is_held or is_alone)
        state.wants_b = bool(page.wants_b)
        state.loops = bool(page.loops)
        self._mixer.set_gains(state, page.gain_a, page.gain_b)
        if self.must_rise or page.rise_sequence != page.rise_done:
            self.must_rise = False
            page.rise_done = page.rise_sequence
            state.rise_left = self._mixer.rise_frames
        # The target is written before its number: a newer target under an older number is
        # fetched once more, never lost.
        seek_sequence = page.seek_sequence
        if seek_sequence != page.seek_done:
            state.seek_frame = page.seek_frame
            page.seek_done = seek_sequence
