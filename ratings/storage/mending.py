"""Clips that are missing or damaged in a moved study, cut again from the recordings."""

from dataclasses import dataclass
from pathlib import Path

import sqlalchemy as sa

from ratings.errors import RatingsError, StudyError
from ratings.recordings.clips import ClipCut, cut_clip
from ratings.storage import tables
from ratings.storage.database import told_in_words
from ratings.storage.making import Progress, quiet
from ratings.storage.study_folder import Study


@dataclass(frozen=True, slots=True)
class MissingClip:
    """A clip whose file is gone, with all that is needed to cut it again."""

    code: str
    content_hash: str
    sample_rate_hz: int
    recording: Path
    cut: ClipCut


def missing_clips(study: Study) -> tuple[MissingClip, ...]:
    """Return the clips whose files are not in the study's folder."""
    query = (
        sa.select(tables.clip, tables.clip_source, tables.recording.c.stored_name)
        .join(tables.clip_source, tables.clip_source.c.clip_id == tables.clip.c.clip_id)
        .join(
            tables.recording, tables.recording.c.recording_id == tables.clip_source.c.recording_id
        )
        .order_by(tables.clip.c.clip_id)
    )
    with told_in_words(study.folder.name), study.engine.connect() as connection:
        rows = connection.execute(query).all()
    return tuple(
        MissingClip(
            row.code,
            row.content_hash,
            row.sample_rate_hz,
            study.folder.recordings / row.stored_name,
            ClipCut(row.left_channel, row.right_channel, row.start_s, row.stop_s, row.gain_db),
        )
        for row in rows
        if not study.folder.clip_file(row.code).is_file()
    )


def restore_clips(study: Study, progress: Progress = quiet) -> int:
    """Cut every missing clip again from its recording; return how many were cut.

    Raises
    ------
    StudyError
        When a recording is missing too, cannot be read, or does not give the same clip again.
    """
    missing = missing_clips(study)
    for number, clip in enumerate(missing):
        progress(number / len(missing), f"Cutting clip {number + 1} of {len(missing)}")
        _restore(study, clip)
    return len(missing)


def _restore(study: Study, clip: MissingClip) -> None:
    # No file name and no path in these sentences: an evaluator may read them.
    destination = study.folder.clip_file(clip.code)
    if not clip.recording.is_file():
        raise StudyError(
            f"The study {study.folder.name} misses clip {clip.code} and the recording it was cut "
            "from.",
            "Bring back its folders clips and recordings from where it was copied. "
            "Scores are safe.",
        )
    try:
        study.folder.clips.mkdir(exist_ok=True)
        facts = cut_clip(clip.recording, destination, clip.cut, clip.sample_rate_hz)
    except (RatingsError, OSError) as problem:
        raise StudyError(
            f"Clip {clip.code} of {study.folder.name} is missing and cannot be cut again.",
            "Bring back the folder clips from where the study was copied. Scores are safe.",
        ) from problem
    if facts.content_hash != clip.content_hash:
        destination.unlink()
        raise StudyError(
            f"The recording behind clip {clip.code} of {study.folder.name} is not the one that was "
            "heard before.",
            "Bring back the original folder recordings. Scores are safe.",
        )
