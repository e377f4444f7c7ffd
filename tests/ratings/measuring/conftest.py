"""Recordings of known content."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile
from known_recordings import FULL_SCALE_PA, Samples


@pytest.fixture
def write(tmp_path: Path) -> Callable[..., Path]:
    """Write channels of pressure in pascal, 20 Pa at full scale, as 24-bit WAV."""

    def written(*channels_pa: Samples, rate_hz: int = 48_000, name: str = "run.wav") -> Path:
        path = tmp_path / name
        samples = np.stack(channels_pa, axis=1) / FULL_SCALE_PA
        soundfile.write(path, samples, rate_hz, subtype="PCM_24")
        return path

    return written
