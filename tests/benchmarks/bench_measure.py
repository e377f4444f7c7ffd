"""Time and memory for every figure of an eight-channel minute, and how both grow with length.

Prints the time against reading the file alone and against the floor of a plain filter bank (28
third octaves of three second-order sections each, at 48 kHz, on the same samples), measured in the
same run. Usage: python tests/benchmarks/bench_measure.py [--seconds 60] [--files 4]
"""

import argparse
import multiprocessing
import resource
import tempfile
import time
from pathlib import Path

import numpy as np
import soundfile
from scipy import signal

from ratings.measuring.many import Job, measure_many
from ratings.measuring.measure import measure
from ratings.measuring.settings import MeasuringSettings
from ratings.recordings.opening import open_recording
from ratings.study.speed_trace import SpeedTrace
from ratings.study.tyre_size import tyre_size

RATE_HZ, CHANNELS = 48_000, 8


def write_road_noise(path: Path, seconds: float, seed: int = 1) -> Path:
    """Noise that falls by 6 dB per octave above 60 Hz, 24 bit, in pieces."""
    rng = np.random.default_rng(seed)
    fall = signal.butter(1, 60, fs=RATE_HZ, output="sos")
    state = np.zeros((1, 2, CHANNELS))
    with soundfile.SoundFile(path, "w", RATE_HZ, CHANNELS, "PCM_24") as file:
        for _ in range(round(seconds)):
            white = rng.normal(0, 0.5, (RATE_HZ, CHANNELS))
            piece, state = signal.sosfilt(fall, white, axis=0, zi=state)
            file.write(piece)
    return path


def settings(seconds: float) -> MeasuringSettings:
    """Everything asked for: tyre, pitches and speed."""
    return MeasuringSettings(
        tyre=tyre_size("205/55R16"),
        pitches=64,
        speed=SpeedTrace.constant(80, seconds),
        speed_km_h=80,
    )


def cost(work, *arguments) -> tuple[float, float, float]:
    """Wall seconds, CPU seconds and peak megabytes of work in a process of its own."""
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        return pool.apply(_cost, (work, *arguments))


def _cost(work, *arguments) -> tuple[float, float, float]:
    wall, cpu = time.perf_counter(), time.process_time()
    work(*arguments)
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000
    return time.perf_counter() - wall, time.process_time() - cpu, peak_mb


def everything(path: Path, seconds: float) -> None:
    """Every figure of the file, calibrated."""
    measure(path, settings(seconds), (20.0,) * CHANNELS)


def reading(path: Path) -> None:
    """The samples and nothing else."""
    with open_recording(path) as recording:
        for _ in recording.blocks():
            pass


def plain_bank(path: Path) -> None:
    """Third octaves at full rate, squares only."""
    centres_hz = 1000 * 10 ** (np.arange(-16, 12) / 10)
    bank = [
        signal.butter(3, (c * 10**-0.05, c * 10**0.05), "bandpass", fs=RATE_HZ, output="sos")
        for c in centres_hz
    ]
    with open_recording(path) as recording:
        for block in recording.blocks():
            for sections in bank:
                (signal.sosfilt(sections, block, axis=0) ** 2).sum(axis=0)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--files", type=int, default=4)
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        whole = write_road_noise(Path(folder) / "whole.wav", arguments.seconds)
        third = write_road_noise(Path(folder) / "third.wav", arguments.seconds / 3)
        channel_seconds = arguments.seconds * CHANNELS
        wall, cpu, peak_mb = cost(everything, whole, arguments.seconds)
        print(
            f"every figure of {CHANNELS} channels x {arguments.seconds:.0f} s: {wall:.1f} s, "
            f"{cpu:.1f} CPU s ({channel_seconds / cpu:.0f} channel-seconds per CPU second), "
            f"peak {peak_mb:.0f} MB"
        )
        _, third_cpu, third_mb = cost(everything, third, arguments.seconds / 3)
        print(
            f"a third of the length: {third_cpu:.1f} CPU s (ratio {cpu / third_cpu:.2f}), "
            f"peak {third_mb:.0f} MB"
        )
        _, reading_cpu, _ = cost(reading, whole)
        _, bank_cpu, _ = cost(plain_bank, whole)
        print(f"reading alone: {reading_cpu:.2f} CPU s")
        print(
            f"28 plain third-octave filters alone: {bank_cpu:.1f} CPU s; "
            f"every figure takes {cpu / bank_cpu:.2f} times that"
        )
        job = Job(third, settings(arguments.seconds / 3), (20.0,) * CHANNELS)
        for processes in (1, -1):
            start = time.perf_counter()
            measure_many([job] * arguments.files, processes)
            print(
                f"{arguments.files} files by joblib, n_jobs={processes}: "
                f"{time.perf_counter() - start:.1f} s"
            )


if __name__ == "__main__":
    main()
