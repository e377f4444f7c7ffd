"""The mix: from a state and the two clips to the next block, to the sample and without a device."""

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from app.playback.fades import (
    crossfade,
    fade_frames,
    slow_rise,
    start_ramp,
    straight_ramp,
)
from app.playback.pair import CHANNELS, PairAudio

BIN_S = 0.050
LONGEST_PIECE_FRAMES = 1024
NO_SEEK = -1

Samples = NDArray[np.float32]
Hearings = NDArray[np.uint32]


def bin_frames(sample_rate_hz: int) -> int:
    """Frames in one bin of the record of what was heard."""
    return round(BIN_S * sample_rate_hz)


def bin_count(frames: int, sample_rate_hz: int) -> int:
    """Bins of a clip; the last one takes the rest of the clip."""
    return max(1, frames // bin_frames(sample_rate_hz))


def safe_gain(gain: float, highest: float) -> float:
    """Hold a gain at or below the highest that was checked; what is no gain is silence."""
    return min(gain, highest) if 0.0 <= gain < math.inf else 0.0


def keep_within_full_scale(block: Samples) -> None:
    """Cut off what is beyond full scale, and silence what is not a number; others stay as they are.

    The mix never needs it: this is the last door before the ear.
    """
    if not (block.min() >= -1.0 and block.max() <= 1.0):
        np.nan_to_num(block, copy=False, nan=0.0, posinf=0.0, neginf=0.0)
        np.clip(block, -1.0, 1.0, out=block)


@dataclass(slots=True)
class GainState:
    """One side's gain on its way, `step` ramp frames along."""

    start: float
    wanted: float
    step: int


@dataclass(slots=True, eq=False)
class MixState:
    """Where the mix is and what is wanted of it; the mix itself moves it on.

    Attributes
    ----------
    hearings_a, hearings_b
        How often each bin of 50 ms sounded at full weight, counted at the middle of the bin.
    position_frame
        Next frame to be mixed, shared by both sides.
    fade
        Steps of the switching fade away from A; the full number is only B.
    level
        Steps of the start ramp; 0 is at rest, the full number is sounding.
    rise_left
        Frames of the slow rise still to come; 0 once it is through. It stands still at rest.
    plays, wants_b, loops, seek_frame
        What is wanted. `plays` turns false, and `ended` true, when the clip came to its end.
    tail_loops
        Whether the last 10 ms now passing lead into the loop.
    """

    hearings_a: Hearings
    hearings_b: Hearings
    position_frame: int = 0
    fade: int = 0
    level: int = 0
    rise_left: int = 0
    plays: bool = False
    wants_b: bool = False
    loops: bool = False
    seek_frame: int = NO_SEEK
    tail_loops: bool = False
    ended: bool = False
    gain_a: GainState = field(default_factory=lambda: GainState(1.0, 1.0, 0))
    gain_b: GainState = field(default_factory=lambda: GainState(1.0, 1.0, 0))
    frames_played_a: int = 0
    frames_played_b: int = 0


class Mixer:
    """Renders one pair; keeps the tables and the scratch space, and nothing that changes."""

    def __init__(self, audio: PairAudio) -> None:
        self.audio = audio
        self.frames = len(audio.looped_a)
        self.fade_frames = fade_frames(audio.sample_rate_hz)
        self.tail_frame = self.frames - self.fade_frames
        self._bin_frames = bin_frames(audio.sample_rate_hz)
        self._start = start_ramp(self.fade_frames)
        self._rise = slow_rise(audio.sample_rate_hz)
        self.rise_frames = len(self._rise) - 1
        self._straight = straight_ramp(self.fade_frames)
        self._switch = crossfade(self.fade_frames, audio.correlation)
        self._other = np.zeros((LONGEST_PIECE_FRAMES, CHANNELS), np.float32)
        self._ramp = np.zeros((LONGEST_PIECE_FRAMES, 1), np.float32)

    def new_state(self) -> MixState:
        """State at rest at the start of side A, nothing heard yet."""
        bins = bin_count(self.frames, self.audio.sample_rate_hz)
        return MixState(np.zeros(bins, np.uint32), np.zeros(bins, np.uint32))

    def set_gains(self, state: MixState, gain_a: float, gain_b: float) -> None:
        """Ramp to other gains from where each gain is now; none above the highest allowed."""
        for gain, asked, highest in (
            (state.gain_a, gain_a, self.audio.highest_gain_a),
            (state.gain_b, gain_b, self.audio.highest_gain_b),
        ):
            wanted = safe_gain(asked, highest)
            if wanted != gain.wanted:
                gain.start = self._gain_now(gain)
                gain.wanted, gain.step = wanted, 0

    def render(self, state: MixState, block: Samples) -> None:
        """Fill a block and move the state on.

        The result is the same however the frames are cut into blocks, as long as what is wanted
        changes at the same frames.

        Parameters
        ----------
        state
            Read and moved on.
        block
            Shape (frames, 2); filled.
        """
        done, frames = 0, len(block)
        while done < frames:
            if state.level == 0:
                self._settle_at_rest(state)
                if not state.plays:
                    block[done:] = 0.0
                    return
            count = min(frames - done, self._frames_to_next_turn(state))
            self._render_piece(state, block[done : done + count])
            done += count

    def _settle_at_rest(self, state: MixState) -> None:
        # In silence nothing clicks: seek, side, gain and loop take effect at once.
        if state.seek_frame != NO_SEEK:
            state.position_frame = min(max(state.seek_frame, 0), self.frames - 1)
            state.seek_frame = NO_SEEK
        state.fade = self._wanted_fade(state)
        state.gain_a.step = state.gain_b.step = self.fade_frames
        state.tail_loops = state.loops

    def _wanted_fade(self, state: MixState) -> int:
        return self.fade_frames if state.wants_b else 0

    def _wanted_level(self, state: MixState) -> int:
        rises = state.plays and state.seek_frame == NO_SEEK
        return self.fade_frames if rises else 0

    def _gain_now(self, gain: GainState) -> float:
        part = float(self._straight[gain.step, 0])
        return gain.start + (gain.wanted - gain.start) * part

    def _frames_to_next_turn(self, state: MixState) -> int:
        """Frames until the nearest ramp is done, or the tail or the end of the clip is reached."""
        frame = state.position_frame
        turn = self.tail_frame if frame < self.tail_frame else self.frames
        count = min(LONGEST_PIECE_FRAMES, turn - frame)
        for left in (
            abs(self._wanted_fade(state) - state.fade),
            abs(self._wanted_level(state) - state.level),
            self.fade_frames - state.gain_a.step,
            self.fade_frames - state.gain_b.step,
            state.rise_left,
        ):
            if left:
                count = min(count, left)
        return count

    def _render_piece(self, state: MixState, piece: Samples) -> None:
        count = len(piece)
        if state.position_frame <= self.tail_frame:
            state.tail_loops = state.loops
        wanted_fade, wanted_level = self._wanted_fade(state), self._wanted_level(state)
        settled = (
            state.fade == wanted_fade
            and state.level == wanted_level == self.fade_frames
            and state.rise_left == 0
        )
        if state.fade != wanted_fade:
            self._mix_both(state, piece, wanted_fade)
        elif state.wants_b:
            self._read_b(state, piece)
        else:
            self._read_a(state, piece)
        if state.level != wanted_level:
            steps = _steps(self._start, state.level, wanted_level, count)
            np.multiply(piece, steps, out=piece)
            state.level += count if wanted_level else -count
        if state.rise_left:
            first = self.rise_frames - state.rise_left + 1
            np.multiply(piece, self._rise[first : first + count], out=piece)
            state.rise_left -= count
        state.gain_a.step = min(state.gain_a.step + count, self.fade_frames)
        state.gain_b.step = min(state.gain_b.step + count, self.fade_frames)
        self._count(state, count, settled)
        self._advance(state, count)

    def _mix_both(self, state: MixState, piece: Samples, wanted_fade: int) -> None:
        count = len(piece)
        other = self._other[:count]
        self._read_a(state, piece)
        self._read_b(state, other)
        np.subtract(piece, other, out=piece)
        np.multiply(piece, _steps(self._switch.first, state.fade, wanted_fade, count), out=piece)
        np.multiply(other, _steps(self._switch.both, state.fade, wanted_fade, count), out=other)
        np.add(piece, other, out=piece)
        state.fade += count if wanted_fade else -count

    def _read_a(self, state: MixState, out: Samples) -> None:
        self._read(state, state.gain_a, self.audio.looped_a, self.audio.ending_a, out)

    def _read_b(self, state: MixState, out: Samples) -> None:
        self._read(state, state.gain_b, self.audio.looped_b, self.audio.ending_b, out)

    def _read(
        self, state: MixState, gain: GainState, looped: Samples, ending: Samples, out: Samples
    ) -> None:
        count, start = len(out), state.position_frame
        source = looped
        if start >= self.tail_frame and not state.tail_loops:
            source, start = ending, start - self.tail_frame
        if gain.step == self.fade_frames:
            np.multiply(source[start : start + count], gain.wanted, out=out)
            return
        ramp = self._ramp[:count]
        steps = self._straight[gain.step + 1 : gain.step + 1 + count]
        np.multiply(steps, gain.wanted - gain.start, out=ramp)
        np.add(ramp, gain.start, out=ramp)
        np.multiply(source[start : start + count], ramp, out=out)

    def _count(self, state: MixState, count: int, settled: bool) -> None:
        if state.wants_b:
            state.frames_played_b += count
        else:
            state.frames_played_a += count
        if not settled:
            return
        hearings = state.hearings_b if state.wants_b else state.hearings_a
        width, middle, start = self._bin_frames, self._bin_frames // 2, state.position_frame
        first = (start - middle + width - 1) // width
        after = (start + count - middle + width - 1) // width
        hearings[max(first, 0) : after] += np.uint32(1)

    def _advance(self, state: MixState, count: int) -> None:
        state.position_frame += count
        if state.position_frame < self.frames:
            return
        if state.tail_loops:
            state.position_frame = self.fade_frames
            return
        state.level = 0
        if state.seek_frame == NO_SEEK:
            state.position_frame, state.plays, state.ended = 0, False, True
        else:
            state.position_frame = self.frames - 1


def _steps(table: Samples, now: int, wanted: int, count: int) -> Samples:
    """Rows of a ramp for the next frames, upwards or downwards."""
    if wanted > now:
        return table[now + 1 : now + 1 + count]
    return table[now - count : now][::-1]
