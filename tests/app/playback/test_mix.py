import numpy as np
import pytest

from app.playback.mix import Mixer, MixState, bin_count, keep_within_full_scale
from app.playback.pair import LoadedPair, prepared

RATE_HZ = 48000
FADE = 480


@pytest.fixture
def mixer(noise_pair) -> Mixer:
    return Mixer(prepared(noise_pair))


def started(mixer: Mixer, gain_a: float = 1.0, gain_b: float = 1.0, **wanted: object) -> MixState:
    state = mixer.new_state()
    mixer.set_gains(state, gain_a, gain_b)
    state.plays = True
    for name, value in wanted.items():
        setattr(state, name, value)
    return state


def rendered(mixer: Mixer, state: MixState, frames: int, block_frames: int = 256) -> np.ndarray:
    out = np.full((frames, 2), np.nan, np.float32)
    for start in range(0, frames, block_frames):
        mixer.render(state, out[start : start + block_frames])
    return out


def start_weights(frames: int = FADE) -> np.ndarray:
    return (np.sin(np.arange(1, frames + 1) / FADE * np.pi / 2) ** 2)[:, np.newaxis]


def test_that_at_rest_there_is_silence_and_the_position_stays(mixer: Mixer) -> None:
    state = mixer.new_state()
    assert not rendered(mixer, state, 1000).any()
    assert state.position_frame == 0


def test_that_a_start_ramps_up_and_then_plays_the_clip_itself(mixer: Mixer, noise_pair) -> None:
    out = rendered(mixer, started(mixer), 4096)
    np.testing.assert_allclose(out[:FADE], noise_pair.a[:FADE] * start_weights(), atol=1e-7)
    np.testing.assert_array_equal(out[FADE:], noise_pair.a[FADE:4096])


def test_that_a_gain_is_a_plain_factor(mixer: Mixer, noise_pair) -> None:
    out = rendered(mixer, started(mixer, gain_a=0.3), 4096)
    np.testing.assert_array_equal(out[FADE:], noise_pair.a[FADE:4096] * np.float32(0.3))


def test_that_a_switch_fades_to_the_other_side_at_the_same_position(mixer, noise_pair) -> None:
    state = started(mixer, gain_a=0.8, gain_b=0.5)
    before = rendered(mixer, state, 2048)
    state.wants_b = True
    after = rendered(mixer, state, 2048)
    a, b = noise_pair.a.astype(float) * 0.8, noise_pair.b.astype(float) * 0.5
    x, y = noise_pair.a.astype(float), noise_pair.b.astype(float)
    correlation = max(0.0, (x * y).sum() / np.sqrt((x**2).sum() * (y**2).sum()))
    angle = (np.arange(1, FADE + 1) / FADE * np.pi / 2)[:, np.newaxis]
    fade = np.cos(angle) * a[2048 : 2048 + FADE] + np.sin(angle) * b[2048 : 2048 + FADE]
    fade /= np.sqrt(1 + correlation * np.sin(2 * angle))
    np.testing.assert_allclose(before[FADE:], a[FADE:2048], atol=1e-7)
    np.testing.assert_allclose(after[:FADE], fade, atol=5e-7)
    np.testing.assert_allclose(after[FADE:], b[2048 + FADE : 4096], atol=1e-7)
    assert state.position_frame == 4096


def test_that_a_switch_taken_back_in_mid_fade_goes_the_same_way_back(mixer: Mixer) -> None:
    state = started(mixer)
    rendered(mixer, state, 2048)
    state.wants_b = True
    rendered(mixer, state, 200, 200)
    assert state.fade == 200
    state.wants_b = False
    back = rendered(mixer, state, 1000)
    assert state.fade == 0
    audio = mixer.audio
    angle = (np.arange(199, -1, -1) / FADE * np.pi / 2)[:, np.newaxis]
    root = np.sqrt(1 + audio.correlation * np.sin(2 * angle))
    a, b = audio.looped_a[2248:2448].astype(float), audio.looped_b[2248:2448].astype(float)
    expected = (np.cos(angle) * a + np.sin(angle) * b) / root
    np.testing.assert_allclose(back[:200], expected, atol=5e-7)
    np.testing.assert_array_equal(back[200:], audio.looped_a[2448:3248])


def test_that_switching_between_identical_clips_changes_no_bit(noise) -> None:
    clip = noise(1.0, 5)
    mixer = Mixer(prepared(LoadedPair(clip, clip.copy(), RATE_HZ, 0.7, 0.7)))
    left_alone = started(mixer, 0.7, 0.7, loops=True)
    switched = started(mixer, 0.7, 0.7, loops=True)
    expected = rendered(mixer, left_alone, 3 * RATE_HZ)
    parts = []
    for number in range(3 * RATE_HZ // 300):
        switched.wants_b = number % 5 < 2
        parts.append(rendered(mixer, switched, 300, 300))
    np.testing.assert_array_equal(np.concatenate(parts), expected)


def test_that_a_loop_goes_from_the_seam_to_the_frame_after_it(mixer: Mixer) -> None:
    out = rendered(mixer, started(mixer, loops=True), 3 * RATE_HZ)
    looped = mixer.audio.looped_a
    once = np.concatenate([looped, looped[FADE:], looped[FADE:], looped[FADE:]])
    np.testing.assert_array_equal(out[FADE:], once[FADE : 3 * RATE_HZ])


def test_that_without_a_loop_the_end_fades_and_the_position_returns(mixer, noise_pair) -> None:
    state = started(mixer)
    out = rendered(mixer, state, RATE_HZ + 1000)
    np.testing.assert_array_equal(out[FADE:-1480], noise_pair.a[FADE:-FADE])
    np.testing.assert_array_equal(out[-1480:-1000], mixer.audio.ending_a)
    assert not out[-1000:].any()
    assert (state.plays, state.ended, state.position_frame, state.level) == (False, True, 0, 0)


def test_that_a_loop_set_within_the_tail_does_not_make_a_step(mixer: Mixer) -> None:
    state = started(mixer)
    rendered(mixer, state, RATE_HZ - 100, RATE_HZ - 100)
    state.loops = True
    np.testing.assert_array_equal(rendered(mixer, state, 100), mixer.audio.ending_a[-100:])
    assert state.ended


def test_that_a_pause_ramps_down_and_play_goes_on_from_there(mixer: Mixer, noise_pair) -> None:
    state = started(mixer)
    rendered(mixer, state, 2048)
    state.plays = False
    down = rendered(mixer, state, 1000)
    np.testing.assert_allclose(
        down[:FADE], noise_pair.a[2048:2528] * (1 - start_weights()), atol=1e-7
    )
    assert not down[FADE:].any()
    assert state.position_frame == 2528
    state.plays = True
    up = rendered(mixer, state, 1000)
    np.testing.assert_array_equal(up[FADE:], noise_pair.a[3008:3528])


def test_that_a_seek_fades_out_and_in_again(mixer: Mixer, noise_pair) -> None:
    state = started(mixer)
    rendered(mixer, state, 2048)
    state.seek_frame = 30000
    out = rendered(mixer, state, 2048)
    np.testing.assert_allclose(
        out[:FADE], noise_pair.a[2048:2528] * (1 - start_weights()), atol=1e-7
    )
    np.testing.assert_allclose(
        out[FADE : 2 * FADE], noise_pair.a[30000:30480] * start_weights(), atol=1e-7
    )
    np.testing.assert_array_equal(out[2 * FADE :], noise_pair.a[30480 : 30000 + 2048 - FADE])


def test_that_a_seek_at_rest_is_done_at_once_and_beyond_the_end_stops_there(mixer: Mixer) -> None:
    state = mixer.new_state()
    state.seek_frame = 10**9
    assert not rendered(mixer, state, 256).any()
    assert state.position_frame == RATE_HZ - 1


def test_that_a_gain_change_is_a_straight_ramp(mixer: Mixer, noise_pair) -> None:
    state = started(mixer, 0.2, 1.0)
    rendered(mixer, state, 2048)
    mixer.set_gains(state, 0.6, 1.0)
    out = rendered(mixer, state, 1024)
    ramp = 0.2 + 0.4 * (np.arange(1, FADE + 1) / FADE)[:, np.newaxis]
    np.testing.assert_allclose(out[:FADE], noise_pair.a[2048:2528] * ramp, atol=1e-7)
    np.testing.assert_array_equal(out[FADE:], noise_pair.a[2528:3072] * np.float32(0.6))


def test_that_a_bin_counts_as_heard_only_on_the_side_at_full_weight(mixer: Mixer) -> None:
    state = started(mixer)
    rendered(mixer, state, 12000)
    state.wants_b = True
    rendered(mixer, state, 12000)
    assert len(state.hearings_a) == bin_count(RATE_HZ, RATE_HZ) == 20
    assert state.hearings_a.tolist() == [1] * 5 + [0] * 15
    assert state.hearings_b.tolist() == [0] * 5 + [1] * 5 + [0] * 10
    assert (state.frames_played_a, state.frames_played_b) == (12000, 12000)


def test_that_a_bin_whose_middle_falls_into_a_ramp_is_not_heard(mixer: Mixer) -> None:
    # Middles lie at frame 1200, 3600, 6000: the start takes the first, the fade the second.
    state = started(mixer, seek_frame=1000)
    rendered(mixer, state, 2400, 2400)
    state.wants_b = True
    rendered(mixer, state, 3000, 3000)
    assert state.position_frame == 6400
    assert not state.hearings_a.any()
    assert np.flatnonzero(state.hearings_b).tolist() == [2]


def test_that_a_switch_at_rest_starts_on_the_new_side_alone(mixer: Mixer, noise_pair) -> None:
    state = mixer.new_state()
    rendered(mixer, state, 256)
    state.wants_b = state.plays = True
    out = rendered(mixer, state, FADE)
    np.testing.assert_allclose(out, noise_pair.b[:FADE] * start_weights(), atol=1e-7)


def test_that_a_gain_set_at_rest_holds_from_the_first_sample(mixer: Mixer, noise_pair) -> None:
    out = rendered(mixer, started(mixer, gain_a=0.1), FADE)
    np.testing.assert_allclose(out, noise_pair.a[:FADE] * 0.1 * start_weights(), atol=1e-8)


def test_that_two_whole_rounds_of_a_loop_count_twice_everywhere(mixer: Mixer) -> None:
    state = started(mixer, loops=True)
    rendered(mixer, state, 2 * RATE_HZ - FADE)
    assert state.hearings_a.tolist() == [2] * 20
    assert not state.hearings_b.any()


def test_that_the_rest_of_an_uneven_clip_belongs_to_its_last_bin(noise) -> None:
    clip = noise(0.99, 1)
    mixer = Mixer(prepared(LoadedPair(clip, clip, RATE_HZ)))
    state = started(mixer)
    rendered(mixer, state, RATE_HZ)
    assert state.hearings_a.tolist() == [1] * 19


def rise_weights(first: int, count: int) -> np.ndarray:
    steps = np.arange(first + 1, first + 1 + count) / (3 * RATE_HZ)
    return 10.0 ** (-2.0 * (1.0 - steps))[:, np.newaxis]


def test_that_a_slow_rise_goes_evenly_in_decibels_from_minus_40_to_the_clip_itself(
    mixer: Mixer, noise_pair
) -> None:
    state = started(mixer, loops=True, rise_left=mixer.rise_frames)
    out = rendered(mixer, state, 4 * RATE_HZ)
    plain = rendered(mixer, started(mixer, loops=True), 4 * RATE_HZ)
    weights = rise_weights(0, 3 * RATE_HZ)
    assert mixer.rise_frames == 3 * RATE_HZ
    np.testing.assert_allclose(out[: 3 * RATE_HZ], plain[: 3 * RATE_HZ] * weights, atol=1e-6)
    # Through means through: to the bit.
    np.testing.assert_array_equal(out[3 * RATE_HZ - 1 :], plain[3 * RATE_HZ - 1 :])
    assert state.rise_left == 0


@pytest.mark.parametrize("block_frames", [1, 37, 256, 1024, 5000])
def test_that_a_slow_rise_is_the_same_however_it_is_cut_into_blocks(mixer, block_frames) -> None:
    frames = 5000 if block_frames == 1 else 3 * RATE_HZ + 4000
    whole = started(mixer, loops=True, rise_left=mixer.rise_frames)
    expected = rendered(mixer, whole, frames, frames)
    cut = started(mixer, loops=True, rise_left=mixer.rise_frames)
    np.testing.assert_array_equal(rendered(mixer, cut, frames, block_frames), expected)


def test_that_a_rise_stands_still_at_rest_and_goes_on(mixer: Mixer) -> None:
    state = started(mixer, loops=True, rise_left=mixer.rise_frames)
    rendered(mixer, state, RATE_HZ)
    state.plays = False
    rendered(mixer, state, RATE_HZ)
    left = state.rise_left
    assert left == 2 * RATE_HZ - FADE
    rendered(mixer, state, RATE_HZ)
    assert state.rise_left == left


def test_that_nothing_counts_as_heard_while_the_sound_rises(mixer: Mixer) -> None:
    state = started(mixer, loops=True, rise_left=mixer.rise_frames)
    rendered(mixer, state, 3 * RATE_HZ)
    assert not state.hearings_a.any()
    assert state.frames_played_a == 3 * RATE_HZ


@pytest.mark.parametrize("gain", [np.nan, np.inf, -np.inf, -0.5])
def test_that_what_is_no_gain_is_silence(mixer: Mixer, gain: float) -> None:
    out = rendered(mixer, started(mixer, gain_a=gain, gain_b=gain), 4096)
    assert not out.any()


def test_that_no_gain_exceeds_the_highest_that_was_checked(noise) -> None:
    clip = noise(1.0, 5)
    mixer = Mixer(prepared(LoadedPair(clip, clip, RATE_HZ, 0.25, 0.5)))
    out = rendered(mixer, started(mixer, gain_a=400.0, gain_b=400.0), 4096)
    np.testing.assert_array_equal(out[FADE:], clip[FADE:4096] * np.float32(0.25))


def test_that_the_last_door_lets_nothing_beyond_full_scale_through() -> None:
    sound = np.array([[0.5, -1.0], [1.0, -0.25]], np.float32)
    whole = sound.copy()
    keep_within_full_scale(whole)
    np.testing.assert_array_equal(whole, sound)
    wild = np.array([[1.5, -7.0], [np.nan, np.inf], [-np.inf, 0.5]], np.float32)
    keep_within_full_scale(wild)
    np.testing.assert_array_equal(wild, [[1.0, -1.0], [0.0, 0.0], [0.0, 0.5]])
