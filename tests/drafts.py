"""Drafts of studies for tests, and what is said about them."""

from collections.abc import Iterable, Sequence
from pathlib import Path

import numpy as np
import soundfile
from studies import RATE_HZ, write_noise

from ratings.intake.draft_review import DraftReview, read_files
from ratings.intake.placing import spread
from ratings.intake.study_draft import Draft


def begun_draft(folder: Path, files: Iterable[Path] = ()) -> Draft:
    """Draft a named study of two recordings, short and good unless others are given."""
    files = list(files) or [
        write_noise(folder / "maple_coarse_80.wav", 1),
        write_noise(folder / "birch_coarse_80.wav", 2),
    ]
    return spread(Draft(folder / "out", "Week 31"), files).draft.with_control(1)


def reviewed(draft: Draft) -> DraftReview:
    return DraftReview(draft, read_files(draft), seed=7)


def heading(draft: Draft) -> str:
    """Say what is missing from a draft, or what it amounts to."""
    review = reviewed(draft)
    problem = review.shortcoming()
    return review.ready_words() if problem is None else problem.what_happened


def write_channels(path: Path, channels: int, seed: int, silent: Sequence[int] = ()) -> Path:
    """Write 9 s of noise, different for every seed and channel."""
    samples = np.random.default_rng(seed).normal(size=(round(9.0 * RATE_HZ), channels)) * 0.05
    samples[:, list(silent)] = 0.0
    soundfile.write(path, samples, RATE_HZ, subtype="PCM_16")
    return path


def write_tone(path: Path, rms_by_channel: Sequence[float]) -> Path:
    """Record a calibrator of 1 kHz for 6 s, with so much rms on each channel."""
    time_s = np.arange(6 * RATE_HZ) / RATE_HZ
    tone = np.sqrt(2) * np.sin(2 * np.pi * 1000.0 * time_s)
    soundfile.write(path, tone[:, np.newaxis] * rms_by_channel, RATE_HZ, subtype="PCM_24")
    return path


def write_trace(path: Path) -> Path:
    """Write 10 s at 80 km/h."""
    path.write_text("time_s,speed_km_h\n" + "".join(f"{s},80\n" for s in range(10)))
    return path
