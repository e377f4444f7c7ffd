"""Spectra, maps and other arrays of a measurement, each measuring's in a file of its own."""

import os
import re
import secrets
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from ratings.errors import StudyError, reason_of

Array = npt.NDArray[Any]

#: What happens at one speed was kept as a sentence once, in one form and then in another.
_OLD_SHIFT = re.compile(
    r"(?:tone|the (?P<band>[\w-]+) band) "
    r"(?P<verb>appears|starts|vanishes|stops|jumps|gets|peaks|swells)\b"
)
_OLD_KINDS = {
    **dict.fromkeys(("appears", "starts"), "appears"),
    **dict.fromkeys(("vanishes", "stops"), "vanishes"),
    **dict.fromkeys(("jumps", "gets"), "jumps"),
    **dict.fromkeys(("peaks", "swells"), "band departs"),
}


def write_arrays(folder: Path, arrays: Mapping[str, Array]) -> str:
    """Write arrays as they are into a new file of `folder`; return its name.

    Raises
    ------
    StudyError
        When it cannot be written; no half file is left.
    """
    path = folder / f"{secrets.token_hex(10)}.npz"
    partial = path.with_suffix(".partial")
    try:
        folder.mkdir(exist_ok=True)
        with partial.open("xb") as stream:
            np.savez(stream, allow_pickle=False, **arrays)
            stream.flush()
            os.fsync(stream.fileno())
        partial.replace(path)
    except OSError as problem:
        raise StudyError(
            f"What was measured cannot be kept in the study: {reason_of(problem)}.",
            "Make room or check the right to write there, then measure again.",
        ) from problem
    finally:
        partial.unlink(missing_ok=True)
    return path.name


def read_arrays(path: Path) -> dict[str, Array] | None:
    """Read all arrays of a file; None when the file is not there.

    Raises
    ------
    StudyError
        When it is damaged or cannot be read.
    """
    try:
        # Opened here: numpy leaves a damaged file open that it has opened by itself.
        with path.open("rb") as stream, np.load(stream, allow_pickle=False) as found:
            return _with_kinds({name: found[name] for name in found.files})
    except FileNotFoundError:
        return None
    except (OSError, ValueError, EOFError, zipfile.BadZipFile) as problem:
        raise StudyError(
            f"The spectra in measurements/{path.name} cannot be read.",
            "Measure the run again; its recording and all scores are safe.",
        ) from problem


def _with_kinds(arrays: dict[str, Array]) -> dict[str, Array]:
    """Put kinds and bands of what happens at one speed in place of the sentences of old files."""
    sentences = arrays.pop("shift_words", None)
    if sentences is not None:
        found = [_OLD_SHIFT.search(words) for words in sentences.tolist()]
        known = [each for each in found if each is not None]
        if len(known) < len(found):
            raise ValueError("a sentence of no known kind")
        arrays["shift_kind"] = np.array([_OLD_KINDS[each["verb"]] for each in known], "U12")
        bands = [(each["band"] or "").replace("-", "_") for each in known]
        arrays["shift_band"] = np.array(bands, "U64")
    return arrays
