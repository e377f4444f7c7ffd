"""The decay against the standard's inner steps, and in one piece against pieces."""

import itertools
import math

import numpy as np
import pytest

from ratings.acoustics.loudness.decay import DurationWeighting, NonlinearDecay


def changing_loudness(bands: int = 20, channels: int = 2, times: int = 6000):
    """Noise of changing strength: steady, then bursts of several lengths with pauses."""
    generator = np.random.default_rng(8)
    noise = generator.normal(size=(bands, channels, times)) ** 2
    smoothing = np.exp(-np.arange(12) / 3.0)
    smooth = np.apply_along_axis(lambda row: np.convolve(row, smoothing)[:times], 2, noise)
    gate = np.ones(times)
    for start, length in ((1500, 300), (2000, 20), (2100, 900), (3300, 5), (3500, 1800)):
        gate[start : start + length] = 0.0
    return smooth * gate


def by_inner_steps(core):
    """ISO 532-1:2017, clause 6, as two capacitors with 24 steps per 0.5 ms; (bands, times).

    The switches are written from the description of the circuit: while the input is lower than
    the output, the output falls with 5 ms into a memory of 75 ms, or with 15 ms when it has met
    the memory; otherwise the output is the input and the memory follows.
    """
    short_s, long_s, memory_s = 0.005, 0.015, 0.075
    step_s = 0.0005 / 24
    rates = np.array(
        [
            [-(memory_s + long_s) / (memory_s * short_s) + 1 / memory_s, 0.0],
            [1 / memory_s, -1 / memory_s],
        ]
    )
    rates[0, 1] = -rates[0, 0] - 1 / short_s
    # A series instead of eigenvectors: an independent route to the same matrix.
    powers = [np.eye(2)]
    for order in range(1, 12):
        powers.append(powers[-1] @ rates * step_s / order)
    quick = sum(powers)
    slow, follow = math.exp(-step_s / long_s), math.exp(-step_s / memory_s)
    output, memory = np.zeros(len(core)), np.zeros(len(core))
    decayed = np.empty_like(core)
    following = np.concatenate([core[:, 1:], np.zeros((len(core), 1))], axis=1)
    for time in range(core.shape[1]):
        for inner in range(24):
            share = inner / 24
            given = (1 - share) * core[:, time] + share * following[:, time]
            apart, falling = output > memory, given < output
            fallen = np.where(apart, quick[0, 0] * output + quick[0, 1] * memory, slow * output)
            fed = np.where(apart, quick[1, 0] * output + quick[1, 1] * memory, fallen)
            kept = np.maximum(fallen, given)
            memory = np.where(falling, np.minimum(fed, kept), given + (memory - given) * follow)
            output = np.where(falling, kept, given)
            if inner == 0:
                decayed[:, time] = output
    return decayed


@pytest.mark.slow
def test_that_one_step_per_half_millisecond_does_what_24_do() -> None:
    core = changing_loudness(bands=12, channels=1, times=3600)
    expected = by_inner_steps(core[:, 0])
    found = NonlinearDecay(12, 1).feed(core)[:, 0]
    loud = expected > 0.01 * expected.max()
    deviation = np.abs(found / expected - 1)[loud]
    assert np.median(deviation) < 0.002
    # Where gates cut within one step, much more abruptly than any filter lets through.
    assert deviation.max() < 0.05
    weighted = [DurationWeighting(1).feed(part.sum(axis=0)[None]) for part in (found, expected)]
    assert weighted[0] == pytest.approx(weighted[1], rel=0.01)


def test_that_a_long_sound_fades_more_slowly_than_a_short_one() -> None:
    core = np.zeros((2, 1, 2000))
    core[0, 0, 900:1000] = 1.0
    core[1, 0, 990:1000] = 1.0
    faded = NonlinearDecay(2, 1).feed(core)[:, 0, 1040]
    assert faded[0] > 2 * faded[1] > 0


def test_that_segments_side_by_side_give_what_one_piece_gives() -> None:
    core = changing_loudness()
    whole = NonlinearDecay(20, 2).feed(core, segments=1)
    loudest = whole.max()
    for segments in (2, 5, 11):
        pieces = NonlinearDecay(20, 2).feed(core, segments)
        assert np.abs(pieces - whole).max() < 1e-6 * loudest


@pytest.mark.slow
def test_that_a_stream_gives_what_one_piece_gives() -> None:
    core = changing_loudness()
    whole = NonlinearDecay(20, 2).feed(core, segments=1)
    decay = NonlinearDecay(20, 2)
    cuts = (0, 1, 38, 2500, 2507, 6000)
    pieces = [decay.feed(core[:, :, a:b]) for a, b in itertools.pairwise(cuts)]
    assert np.concatenate(pieces, axis=2) == pytest.approx(whole, rel=1e-6, abs=1e-9)


def test_that_silence_stays_exactly_silent() -> None:
    assert not NonlinearDecay(20, 1).feed(np.zeros((20, 1, 900))).any()


def test_that_a_steady_loudness_is_weighted_by_one() -> None:
    weighted = DurationWeighting(1).feed(np.full((1, 4000), 3.0))
    assert weighted[0, -1] == pytest.approx(3.0, rel=1e-9)
    # 47 % with 3.5 ms and 53 % with 70 ms: after 70 ms 0.47 + 0.53 (1 - 1/e) of it.
    assert weighted[0, 140] == pytest.approx(3.0 * (0.47 + 0.53 * (1 - math.exp(-1))), rel=0.005)


def test_that_the_weighting_is_that_of_interpolated_inner_steps() -> None:
    total = changing_loudness(1, 1, 700)[0, 0] + 0.5
    inner = np.interp(np.arange(700 * 24) / 24, np.arange(700), total)
    expected = np.zeros(700)
    for time_constant_s, share in ((0.0035, 0.47), (0.070, 0.53)):
        factor, state = math.exp(-0.0005 / 24 / time_constant_s), 0.0
        for index, value in enumerate(inner):
            state = factor * state + (1 - factor) * value
            if index % 24 == 0:
                expected[index // 24] += share * state
    found = DurationWeighting(1).feed(total[None])[0]
    # Before its first value the weighting takes the loudness to rise from nothing.
    assert found[200:] == pytest.approx(expected[200:], rel=0.002)
