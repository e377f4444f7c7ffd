"""Channel-seconds of loudness per second of processor time, beside the plain filters.

Run as ``OMP_NUM_THREADS=1 python tests/benchmarks/bench_loudness.py``. With
``--mosqito-python PATH`` the same signal is also measured by the sound quality library MoSQITo,
which needs an environment of its own and 3 GB of memory per minute of sound::

    python -m venv mosqito && mosqito/bin/pip install mosqito==1.2.1
"""

import argparse
import subprocess
import tempfile
import time
import tracemalloc
from pathlib import Path

import numpy as np
from scipy.signal import sosfilt

from ratings.acoustics.loudness import tables
from ratings.acoustics.loudness.meter import LoudnessMeter

RATE_HZ = tables.SAMPLE_RATE_HZ
BLOCK_FRAMES = 65_536
AIM = 60

THEIRS = """
import sys, time
import numpy as np
from mosqito.sq_metrics import loudness_zwtv
signal = np.load(sys.argv[1])
loudness_zwtv(signal[:24000], 48000, "diffuse")
start = time.process_time()
course, *_ = loudness_zwtv(signal, 48000, "diffuse")
print(time.process_time() - start, np.percentile(course, 95), course.max())
"""


def interior_noise(duration_s: int, channels: int):
    """Noise that falls by 9 dB per octave above 40 Hz, 80 dB, shape (frames, channels)."""
    frames = duration_s * RATE_HZ
    spectrum = np.fft.rfft(np.random.default_rng(5).normal(size=(frames, channels)), axis=0)
    frequency_hz = np.arange(len(spectrum))[:, None] / duration_s
    noise = np.fft.irfft(spectrum / (1 + (frequency_hz / 40) ** 2) ** 0.75, frames, axis=0)
    return noise * (0.2 / np.sqrt(np.mean(noise**2, axis=0)))


def measured(signal):
    """Feed a signal in blocks and return the result."""
    meter = LoudnessMeter(RATE_HZ, signal.shape[1], "diffuse")
    for start in range(0, len(signal), BLOCK_FRAMES):
        meter.feed(signal[start : start + BLOCK_FRAMES])
    return meter.result()


def plain_filters(signal) -> None:
    """Run the standard's 28 filters of three sections and nothing else."""
    for denominators in tables.FILTER_DENOMINATORS:
        sections = zip(tables.FILTER_NUMERATORS, denominators, strict=True)
        sosfilt([[*numerator, 1.0, *rest] for numerator, rest in sections], signal, axis=0)


def shortest_s(work, times: int = 3) -> float:
    """Least processor time of several runs, in seconds."""
    durations = []
    for _ in range(times):
        start = time.process_time()
        work()
        durations.append(time.process_time() - start)
    return min(durations)


def peak_megabytes(signal) -> float:
    """Memory that a measurement takes at most, without the signal."""
    tracemalloc.start()
    measured(signal)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak / 1e6


def by_mosqito(python: str, signal) -> tuple[float, float, float]:
    """Processor time in seconds, N5 and Nmax in sone."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "signal.npy"
        np.save(path, signal)
        command = [python, "-W", "ignore", "-c", THEIRS, str(path)]
        printed = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    seconds, n5_sone, nmax_sone = (float(word) for word in printed.split()[-3:])
    return seconds, n5_sone, nmax_sone


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--mosqito-python", metavar="PATH")
    arguments = parser.parse_args()
    measured(interior_noise(1, 1))
    for duration_s, channels in ((10, 1), (60, 1), (10, 8), (60, 8)):
        signal = interior_noise(duration_s, channels)
        speed = duration_s * channels / shortest_s(lambda signal=signal: measured(signal))
        print(f"{channels} x {duration_s} s: {speed:.0f} channel-seconds per second (aim {AIM})")
    for duration_s in (10, 60):
        peak = peak_megabytes(interior_noise(duration_s, 8))
        print(f"memory for 8 x {duration_s} s: {peak:.0f} MB")
    signal = interior_noise(10, 1)
    ours_s = shortest_s(lambda: measured(signal))
    floor_s = shortest_s(lambda: plain_filters(signal))
    print(
        f"plain filters alone, 1 x 10 s: {10 / floor_s:.0f}; we take {ours_s / floor_s:.2f} of it"
    )
    if arguments.mosqito_python:
        theirs_s, n5_sone, nmax_sone = by_mosqito(arguments.mosqito_python, signal[:, 0])
        found = measured(signal)
        print(f"MoSQITo, 1 x 10 s: {theirs_s:.1f} s, {theirs_s / ours_s:.0f} times ours")
        print(f"N5 {found.n5_sone[0]:.4f}, theirs {n5_sone:.4f}")
        print(f"Nmax {found.nmax_sone[0]:.4f}, theirs {nmax_sone:.4f}")


if __name__ == "__main__":
    main()
