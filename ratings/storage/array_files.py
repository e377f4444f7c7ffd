"""Spectra, maps and other arrays of a measurement, each measuring's in a file of its own."""

import os
import secrets
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from ratings.errors import StudyError, reason_of

Array = npt.NDArray[Any]


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
            return {name: found[name] for name in found.files}
    except FileNotFoundError:
        return None
    except (OSError, ValueError, EOFError, zipfile.BadZipFile) as problem:
        raise StudyError(
            f"The spectra in measurements/{path.name} cannot be read.",
            "Measure the run again; its recording and all scores are safe.",
        ) from problem
