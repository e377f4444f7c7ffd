import os
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from captured_card import PacedCard, alsa_configuration
from numpy.typing import NDArray

from app.playback.pair import LoadedPair
from app.playback.player import Player

RATE_HZ = 48000


@pytest.fixture
def noise() -> Callable[..., NDArray[np.float32]]:
    def make(seconds: float, seed: int, rms: float = 0.1) -> NDArray[np.float32]:
        frames = round(seconds * RATE_HZ)
        samples = np.random.default_rng(seed).normal(0.0, rms, (frames, 2))
        return samples.astype(np.float32)

    return make


@pytest.fixture
def noise_pair(noise) -> LoadedPair:
    return LoadedPair(noise(1.0, 1), noise(1.0, 2), RATE_HZ, 0.8, 0.5, highest_gain=1.0)


@pytest.fixture
def only_devices(tmp_path: Path, monkeypatch) -> Callable[..., None]:
    """Let ALSA know these devices, name and file, and no other."""

    def set_devices(**devices: Path) -> None:
        path = alsa_configuration(tmp_path, devices)
        monkeypatch.setenv("ALSA_CONFIG_PATH", str(path))

    return set_devices


@pytest.fixture
def card(tmp_path: Path) -> Iterator[PacedCard]:
    # 171 ms, so that a busy test machine does not run it dry.
    paced = PacedCard(tmp_path, buffer_bytes=65536)
    yield paced
    paced.close()


@pytest.fixture
def player(qtbot) -> Iterator[Player]:
    made = Player()
    yield made
    made.close()
    assert not named_blocks(), "shared memory was left behind"


def named_blocks() -> list[str]:
    """Names of shared memory made by this process that are still there (Linux)."""
    return [path.name for path in Path("/dev/shm").glob(f"twinset-{os.getpid()}-*")]
