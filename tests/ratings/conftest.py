"""Recordings that the tests make for themselves."""

import os
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

import numpy as np
import pytest
import soundfile

RecordingMaker = Callable[..., Path]


@pytest.fixture
def make_recording(tmp_path: Path) -> RecordingMaker:
    """Write noise, or given samples, into a file in tmp_path."""

    def make(
        name: str = "run.wav",
        samples: np.ndarray | None = None,
        *,
        duration_s: float = 3.0,
        channels: int = 2,
        rate_hz: int = 48_000,
        subtype: str | None = None,
        file_format: str | None = None,
    ) -> Path:
        if samples is None:
            frames = round(duration_s * rate_hz)
            samples = np.random.default_rng(7).uniform(-0.4, 0.4, (frames, channels))
        path = tmp_path / name
        soundfile.write(path, samples, rate_hz, subtype=subtype, format=file_format)
        return path

    return make


@pytest.fixture
def as_nobody(tmp_path: Path) -> Callable[[], AbstractContextManager[None]]:
    """Give up the rights of root within a block, because root may read and write everywhere."""
    if os.name != "posix":
        pytest.skip("rights to files are set differently on this system")

    @contextmanager
    def nobody() -> Iterator[None]:
        if os.geteuid() != 0:
            yield
            return
        # pytest keeps its folders to their owner; nobody must get as far as the file in question.
        closed = [
            folder
            for folder in (tmp_path, *tmp_path.parents)
            if folder.stat().st_mode & 0o777 == 0o700
        ]
        for folder in closed:
            folder.chmod(0o711)
        os.seteuid(65_534)
        try:
            yield
        finally:
            os.seteuid(0)
            for folder in closed:
                folder.chmod(0o700)

    return nobody
