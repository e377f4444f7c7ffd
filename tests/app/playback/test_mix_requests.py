import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from app.playback.mix import Mixer, MixState
from app.playback.pair import LoadedPair, prepared

RATE_HZ = 48000
FRAMES = 16000
STEP_FRAMES = 256


def tone(frequency_hz: float, amplitude: float) -> np.ndarray:
    time_s = np.arange(FRAMES) / RATE_HZ
    one = amplitude * np.sin(2 * np.pi * frequency_hz * time_s + 0.4)
    return np.stack([one, -one], axis=1).astype(np.float32)


MIXER = Mixer(prepared(LoadedPair(tone(100.7, 0.5), tone(133.1, 0.4), RATE_HZ)))

request = st.one_of(
    st.just(("play",)),
    st.just(("pause",)),
    st.just(("switch",)),
    st.just(("loop",)),
    st.tuples(st.just("seek"), st.integers(0, FRAMES - 1)),
    st.tuples(st.just("gain"), st.sampled_from([0.25, 0.5, 1.0])),
    st.just(("nothing",)),
)
requests = st.lists(st.tuples(request, st.integers(1, 30)), min_size=1, max_size=25)


def obey(state: MixState, order: tuple) -> None:
    match order:
        case ("play",):
            state.plays = True
        case ("pause",):
            state.plays = False
        case ("switch",):
            state.wants_b = not state.wants_b
        case ("loop",):
            state.loops = not state.loops
        case ("seek", frame):
            state.seek_frame = frame
        case ("gain", gain):
            MIXER.set_gains(state, gain, 1.0)


def played(orders: list, cut: int) -> tuple[np.ndarray, MixState]:
    state = MIXER.new_state()
    state.plays = True
    blocks = []
    for order, steps in orders:
        obey(state, order)
        block = np.empty((steps * STEP_FRAMES, 2), np.float32)
        for start in range(0, len(block), cut):
            MIXER.render(state, block[start : start + cut])
        blocks.append(block)
    return np.concatenate(blocks), state


@given(requests)
def test_that_no_request_makes_a_step_larger_than_the_clips_and_ramps_allow(orders: list) -> None:
    out, _ = played(orders, STEP_FRAMES)
    own_step = 2 * np.pi * 133.1 / RATE_HZ * 0.5
    # Every ramp (start, switch, seam, gain) moves by less than pi / 480 a frame.
    ramp_step = 3 * 0.5 * np.pi / 480
    steps = np.abs(np.diff(out, axis=0, prepend=np.zeros((1, 2), np.float32)))
    assert steps.max() < np.sqrt(2) * (own_step + ramp_step)
    assert np.abs(out).max() <= 1.0


@given(requests, st.integers(1, 5000))
def test_that_the_mix_does_not_depend_on_how_it_is_cut_into_blocks(orders: list, cut: int) -> None:
    whole, whole_state = played(orders, 1 << 20)
    cut_up, cut_state = played(orders, max(cut, 17))
    np.testing.assert_array_equal(whole, cut_up)
    assert whole_state.position_frame == cut_state.position_frame
    np.testing.assert_array_equal(whole_state.hearings_a, cut_state.hearings_a)
    np.testing.assert_array_equal(whole_state.hearings_b, cut_state.hearings_b)


def test_that_one_long_block_equals_sixteen_short_ones() -> None:
    orders = [(("nothing",), 16), (("switch",), 16), (("loop",), 64), (("seek", 15000), 32)]
    np.testing.assert_array_equal(played(orders, 4096)[0], played(orders, 256)[0])
