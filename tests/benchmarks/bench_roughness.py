"""Roughness per CPU second, beside another library: python tests/benchmarks/bench_roughness.py."""

import argparse
import os
import subprocess
import time

os.environ.setdefault("OMP_NUM_THREADS", "1")

import numpy as np

from ratings.acoustics.roughness.meter import RoughnessMeter

SAMPLE_RATE_HZ, CHANNELS, SECONDS = 48_000, 8, 60
AIM = 100

# One second at a time, because that library holds all frames of a signal at once.
OTHER_LIBRARY = """
import sys, time
import numpy as np
from mosqito.sq_metrics import roughness_dw
second = np.frombuffer(sys.stdin.buffer.read()).copy()
roughness_dw(second, {rate}, overlap=0.5)
start = time.process_time()
asper = roughness_dw(second, {rate}, overlap=0.5)[0]
print(time.process_time() - start, float(np.mean(asper)))
"""


def road_noise(seconds: int) -> np.ndarray:
    """Invented noise of 72 dB that falls with frequency, as inside a car, in pascal."""
    noise = np.random.default_rng(4).normal(size=(seconds * SAMPLE_RATE_HZ, CHANNELS))
    spectrum = np.fft.rfft(noise, axis=0)
    frequency_hz = np.arange(len(spectrum)) / seconds
    shaped = np.fft.irfft(spectrum / (1 + (frequency_hz[:, None] / 150) ** 1.2), axis=0)
    return shaped * 2e-5 * 10 ** (72 / 20) / shaped.std()


def modulated_tone() -> np.ndarray:
    """Return the tone that defines 1 asper."""
    time_s = np.arange(SAMPLE_RATE_HZ) / SAMPLE_RATE_HZ
    tone = (1 + np.sin(2 * np.pi * 70 * time_s)) * np.sin(2 * np.pi * 1000 * time_s)
    return tone * 0.02 / np.sqrt(np.mean(tone**2))


def measured(signal: np.ndarray) -> tuple[float, np.ndarray]:
    """CPU seconds, and mean roughness per channel, of a signal fed second by second."""
    start = time.process_time()
    meter = RoughnessMeter(SAMPLE_RATE_HZ, signal.shape[1])
    for first in range(0, len(signal), SAMPLE_RATE_HZ):
        meter.feed(signal[first : first + SAMPLE_RATE_HZ])
    asper = meter.result().mean_asper
    return time.process_time() - start, asper


def other_library(python: str, second: np.ndarray) -> tuple[float, float]:
    """CPU seconds, and mean roughness, of one channel by MoSQITo."""
    found = subprocess.run(
        [python, "-W", "ignore", "-c", OTHER_LIBRARY.format(rate=SAMPLE_RATE_HZ)],
        input=np.ascontiguousarray(second).tobytes(),
        capture_output=True,
        check=True,
    )
    duration_s, asper = found.stdout.split()
    return float(duration_s), float(asper)


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--mosqito-python", help="a Python in which MoSQITo is installed")
    options = parser.parse_args()
    noise = road_noise(SECONDS)
    measured(noise[:SAMPLE_RATE_HZ])
    for channels in (1, CHANNELS):
        duration_s = min(measured(noise[:, :channels])[0] for _ in range(2))
        rate = channels * SECONDS / duration_s
        print(
            f"{channels} channel(s), {SECONDS} s: {duration_s:.2f} CPU s, {rate:.0f} channel-"
            f"seconds per CPU second (aim {AIM})"
        )
    if options.mosqito_python is None:
        return
    for name, second in (("noise", noise[:SAMPLE_RATE_HZ, 0]), ("1 asper", modulated_tone())):
        duration_s, asper = other_library(options.mosqito_python, second)
        ours = measured(second[:, None])[1][0]
        print(
            f"MoSQITo, {name}: {1 / duration_s:.2f} channel-seconds per CPU second, ours"
            f" {rate * duration_s:.0f} times that; {asper:.3f} asper there, {ours:.3f} here"
        )


if __name__ == "__main__":
    main()
