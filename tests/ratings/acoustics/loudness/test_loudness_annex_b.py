"""The test signals of ISO 532-1:2017, annex B, where they lie beside the checkout."""

import json
from pathlib import Path

import numpy as np
import pytest

from ratings.acoustics.loudness.meter import loudness
from ratings.acoustics.loudness.stationary import stationary_loudness

SIGNALS = (
    Path(__file__).resolve().parents[4] / ".." / "shared" / "checks" / "acoustics" / "iso532-1"
)

pytestmark = pytest.mark.skipif(
    not SIGNALS.is_dir(), reason="the signals of ISO 532-1 are not beside this checkout"
)

#: What the samples are multiplied with to give pascal.
PA_PER_FULL_SCALE = 2 * 2**0.5
#: Rows of the loudness over time from which the annex's N5 was taken.
N5_ROWS = {10: slice(None), 18: slice(50, None)}


def measured(number: int):
    import soundfile

    (path,) = SIGNALS.glob(f"Test signal {number} (*.wav")
    samples, rate_hz = soundfile.read(path, always_2d=True)
    return loudness(samples * PA_PER_FULL_SCALE, rate_hz, expected(number).get("field", "free"))


def expected(number: int) -> dict:
    annex = json.loads((SIGNALS / "annexB_expected.json").read_text(encoding="utf-8"))
    return annex[f"Test signal {number}"]


def reference(number: int):
    from scipy.io import loadmat

    return loadmat(SIGNALS / f"reference_values_ISO532_1_2017_signal_{number}.mat")["reference"]


def test_that_the_levels_of_signal_1_have_the_loudness_of_the_annex() -> None:
    lines = (SIGNALS / "test_signal_1_levels.txt").read_text(encoding="utf-8").split("\n")
    levels_db = np.array([float(line.split(":")[1]) for line in lines if line])
    found = stationary_loudness(levels_db, "free")
    assert found.n_sone == pytest.approx(expected(1)["N"], rel=1e-4)
    assert found.specific_loudness == pytest.approx(reference(1)[:, 1], abs=0.002)


@pytest.mark.parametrize("number", [2, 3, 5])
def test_that_a_steady_signal_has_the_loudness_of_the_annex(number: int) -> None:
    found = measured(number)
    # The standard allows 5 %; the same filters and tables leave much less.
    assert found.n_sone == pytest.approx([expected(number)["N"]], rel=1e-4)
    pattern, low, high = reference(number)[:, 1:4].T
    assert ((found.specific_loudness >= low) & (found.specific_loudness <= high)).all()
    assert found.specific_loudness[0] == pytest.approx(pattern, abs=0.002)


@pytest.mark.slow
@pytest.mark.parametrize("number", [6, 9, 10, 14, 15, 18, 20, 25])
def test_that_a_changing_signal_has_the_loudness_of_the_annex(number: int) -> None:
    found = measured(number)
    course = found.course_sone[:, 0]
    rows = N5_ROWS.get(number, slice(50, len(course) - 250))
    assert np.percentile(course[rows], 95) == pytest.approx(expected(number)["N5"], rel=1e-3)
    assert course.max() == pytest.approx(expected(number)["Nmax"], rel=1e-3)
    given, low, high = reference(number)[:, 1:4].T
    assert len(course) == len(given)
    # The figures are printed with three decimals.
    assert (course >= low - 0.0005).all()
    assert (course <= high + 0.0005).all()
    assert course == pytest.approx(given, abs=0.02)
