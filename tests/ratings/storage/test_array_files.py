"""Arrays of a measurement in a file."""

import numpy as np
import pytest

from ratings.errors import StudyError
from ratings.storage.array_files import read_arrays, write_arrays

OLD_SENTENCES = {
    "a 740 Hz tone starts at 60 km/h (8 dB above the level just before)": ("appears", ""),
    "a 330 Hz tone stops at 52 km/h (6 dB above the level just after)": ("vanishes", ""),
    "a 300 Hz tone gets 9 dB quieter at 50 km/h": ("jumps", ""),
    "the cavity-ring band swells at 59 km/h, 5 dB above its usual course": (
        "band departs",
        "cavity_ring",
    ),
    "at 60 km/h a tone appears near 740 Hz (+8 dB)": ("appears", ""),
    "at 52 km/h a tone vanishes near 330 Hz (+6 dB)": ("vanishes", ""),
    "at 50 km/h a tone jumps near 300 Hz (-9 dB)": ("jumps", ""),
    "at 59 km/h the cavity-ring band peaks above its course by 5 dB": (
        "band departs",
        "cavity_ring",
    ),
}


def test_that_arrays_come_back_as_they_were_kept(tmp_path):
    kept = {"shift_kind": np.array(["appears"]), "spectrum_hz": np.array([1.0, 2.0], np.float32)}
    found = read_arrays(tmp_path / write_arrays(tmp_path, kept))
    assert found.keys() == kept.keys()
    for name, values in kept.items():
        np.testing.assert_array_equal(found[name], values)
        assert found[name].dtype == values.dtype


def test_that_kinds_and_bands_are_read_out_of_the_sentences_of_old_files(tmp_path):
    name = write_arrays(tmp_path, {"shift_words": np.array(list(OLD_SENTENCES))})
    found = read_arrays(tmp_path / name)
    kinds = zip(found["shift_kind"].tolist(), found["shift_band"].tolist(), strict=True)
    assert list(kinds) == list(OLD_SENTENCES.values())
    assert "shift_words" not in found


def test_that_a_run_in_which_nothing_happened_may_be_old_too(tmp_path):
    found = read_arrays(tmp_path / write_arrays(tmp_path, {"shift_words": np.array([], "U120")}))
    assert (found["shift_kind"].size, found["shift_band"].size) == (0, 0)


def test_that_a_sentence_of_no_known_kind_is_no_shift(tmp_path):
    name = write_arrays(tmp_path, {"shift_words": np.array(["something happens at 60 km/h"])})
    with pytest.raises(StudyError, match="Measure the run again"):
        read_arrays(tmp_path / name)
