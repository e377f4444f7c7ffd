"""Scores, measurements and verdicts of tyre listening studies, without a window or a sound card."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ratings.storage.lead_desk import LeadDesk


def open_study(path: Path | str) -> LeadDesk:
    """Open a study folder for a notebook; ``~`` stands for the home folder.

    Examples
    --------
    >>> study = ratings.open_study("~/Alder wagon")  # doctest: +SKIP
    >>> scores, levels = study.score_table(), study.measurement_table()  # doctest: +SKIP

    Raises
    ------
    StudyError
        In words, when the folder holds no study that can be opened.
    """
    from ratings.storage.lead_desk import LeadDesk
    from ratings.storage.study_folder import open_study as open_folder

    return LeadDesk(open_folder(Path(path).expanduser()))
