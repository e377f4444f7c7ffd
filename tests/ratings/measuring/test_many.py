"""Many files over processes, and memory that does not grow with the length of one."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile
from known_recordings import FULL_SCALE_PA, noise_pa

from ratings.errors import RecordingError
from ratings.measuring.many import Job, measure_many
from ratings.measuring.measurement import Measurement
from ratings.measuring.settings import MeasuringSettings

_MEASURED_ALONE = """
import resource, sys
from pathlib import Path
from ratings.measuring.measure import measure
from ratings.measuring.settings import MeasuringSettings
measure(Path(sys.argv[1]), MeasuringSettings(), (20.0,) * 4, threads=1)
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


@pytest.mark.slow
def test_that_files_come_back_in_order_and_a_bad_one_stops_none(write, tmp_path: Path) -> None:
    settings = MeasuringSettings(field="free")
    good = write(noise_pa(60, 2, 48_000), name="good.wav")
    bad = tmp_path / "bad.wav"
    bad.write_bytes(b"nothing of sound")
    done: list[tuple[int, int]] = []
    outcomes = measure_many(
        [Job(path, settings, (FULL_SCALE_PA,)) for path in (good, bad, good)],
        processes=2,
        on_done=lambda *counts: done.append(counts),
    )
    first, second, third = outcomes
    assert isinstance(second, RecordingError)
    assert "bad.wav" in second.what_happened
    assert isinstance(first, Measurement)
    assert isinstance(third, Measurement)
    assert first.levels.leq_a_db == third.levels.leq_a_db
    assert done == [(1, 3), (2, 3), (3, 3)]


def _peak_kb(path: Path) -> int:
    run = subprocess.run(
        [sys.executable, "-c", _MEASURED_ALONE, str(path)], capture_output=True, check=True
    )
    return int(run.stdout)


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="ru_maxrss has other units elsewhere")
def test_that_memory_does_not_grow_with_the_length(tmp_path: Path) -> None:
    paths = []
    for seconds in (10, 40):
        path = tmp_path / f"{seconds}.wav"
        with soundfile.SoundFile(path, "w", 48_000, 4, "PCM_16") as file:
            for second in range(seconds):
                rng = np.random.default_rng(second)
                file.write(rng.normal(0, 0.05, (48_000, 4)))
        paths.append(path)
    short_kb, long_kb = map(_peak_kb, paths)
    # The half minute more is 46 MB of samples; only its courses may stay.
    assert long_kb - short_kb < 20_000
