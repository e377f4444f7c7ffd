"""What killed programs have left in and beside a study, cleared when it is opened."""

import contextlib
import time
from pathlib import Path

from ratings.storage.blind_study import StudyFolder
from ratings.storage.held_files import hold
from ratings.storage.workshops import clear_workshops

#: Nobody writes one file for so long.
_LONGEST_WRITING_S = 3600.0


def clear_leftovers(folder: StudyFolder) -> None:
    """Take away half files, workshops and leases whose owner is dead; nobody's live work.

    A recording that lies whole among the others and that no row tells of stays: it may be all that
    is left of one, and whoever brings the same again takes it.
    """
    for place in (folder.path.parent, folder.path, folder.lead, folder.recordings):
        clear_workshops(place)
    for place in (folder.lead, folder.clips, folder.measurements):
        for half in place.glob("*.partial"):
            _clear_half(half)
    for lease in folder.path.glob(".seat-*.open"):
        with contextlib.suppress(OSError):
            held = hold(lease)
            if held is not None:
                held.release()


def _clear_half(half: Path) -> None:
    with contextlib.suppress(OSError):
        # Not the time of its content, which is set before it is whole.
        if time.time() - half.stat().st_ctime > _LONGEST_WRITING_S:
            half.unlink()
