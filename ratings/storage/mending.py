"""Clips that are missing or damaged in a moved study, cut again from the recordings."""

from dataclasses import dataclass
from pathlib import Path

import sqlalchemy as sa

from ratings.clips.clip_files import clip_file_bytes, write_clip
from ratings.clips.cutting import ClipCut, cut_sound
from ratings.clips.equaliser import Equaliser, read_equaliser
from ratings.clips.masking import Mask
from ratings.errors import RatingsError, RecordingError, StudyError
from ratings.recordings.read import content_hash
from ratings.storage import tables
from ratings.storage.blind_study import BlindStudy
from ratings.storage.study_folder import Study
from ratings.study.progress import Progress, quiet


@dataclass(frozen=True, slots=True)
class StoredClip:
    """A clip as it was cut, with all that is needed to cut it again.

    Attributes
    ----------
    cut
        Without fades, and its ends where a loop was found: clips of a study are looped whole.
    equaliser_id
        SHA-256 of the equaliser that it was run through; None when there was none.
    mask
        The noise under which it lies; None in studies from before there was one.
    """

    code: str
    content_hash: str
    sample_rate_hz: int
    frames: int
    recording: Path
    cut: ClipCut
    equaliser_id: str | None
    mask: Mask | None


def missing_clips(study: Study) -> tuple[StoredClip, ...]:
    """Return the clips whose files are not in the study's folder, or are not as long as written.

    The content is not read: a clip that is damaged in its middle is noticed when it is to be
    heard, see `restore_clip`.
    """
    return tuple(
        clip
        for clip in _clips(study)
        if not _is_there(study.folder.clip_file(clip.code), clip.frames)
    )


def missing_codes(study: BlindStudy) -> tuple[str, ...]:
    """Return the codes of the clips whose files are missing or too short; needs no lead's file."""
    query = sa.select(tables.clip).order_by(tables.clip.c.clip_id)
    with study.reading() as connection:
        rows = connection.execute(query).all()
    return tuple(
        row.code for row in rows if not _is_there(study.folder.clip_file(row.code), row.frames)
    )


def restore_clips(study: Study, progress: Progress = quiet) -> int:
    """Cut every missing clip again from its recording; return how many were cut.

    One that cannot be cut keeps no other from it.

    Raises
    ------
    StudyError
        When a recording is missing too, cannot be read, or does not give the same clip again.
    """
    missing = missing_clips(study)
    problems = []
    for number, clip in enumerate(missing):
        progress(number / len(missing), f"Cutting clip {number + 1} of {len(missing)}")
        try:
            _restore(study, clip)
        except StudyError as problem:
            problems.append(problem)
    if len(problems) > 1:
        raise StudyError(
            f"{len(problems)} of {len(missing)} missing clips cannot be cut again. The first: "
            f"{problems[0].what_happened}",
            problems[0].what_to_do,
        )
    if problems:
        raise problems[0]
    return len(missing)


def restore_clip(study: Study, code: str) -> None:
    """Cut one clip again, whatever its file holds now.

    Parameters
    ----------
    code
        Blind code of the clip.

    Raises
    ------
    StudyError
        When its recording is missing, cannot be read, or does not give the same clip again.
    """
    _restore(study, next(clip for clip in _clips(study) if clip.code == code))


def _clips(study: Study) -> tuple[StoredClip, ...]:
    query = (
        sa.select(tables.clip, tables.clip_source, tables.recording.c.stored_name)
        .join(tables.clip_source, tables.clip_source.c.clip_id == tables.clip.c.clip_id)
        .join(
            tables.recording, tables.recording.c.recording_id == tables.clip_source.c.recording_id
        )
        .order_by(tables.clip.c.clip_id)
    )
    with study.reading() as connection:
        return tuple(
            StoredClip(
                row.code,
                row.content_hash,
                row.sample_rate_hz,
                row.frames,
                study.folder.recording_file(row.stored_name),
                ClipCut(row.left_channel, row.right_channel, row.start_s, row.stop_s, row.gain_db),
                row.equaliser,
                None if row.mask_seed is None else Mask(row.mask_step, row.mask_seed),
            )
            for row in connection.execute(query)
        )


def _is_there(file: Path, frames: int) -> bool:
    return file.is_file() and file.stat().st_size == clip_file_bytes(frames)


def _restore(study: Study, clip: StoredClip) -> None:
    # No file name and no path in these sentences: an evaluator may read them.
    destination = study.folder.clip_file(clip.code)
    if not clip.recording.is_file():
        raise StudyError(
            f"The study {study.folder.name} misses clip {clip.code} and the recording it was cut "
            "from.",
            "Bring back its folders clips and recordings from where it was copied. "
            "Scores are safe.",
        )
    equaliser_file = _equaliser_file(study, clip)
    try:
        study.folder.clips.mkdir(exist_ok=True)
        equaliser = _equaliser(equaliser_file, clip)
        sound = cut_sound(clip.recording, clip.cut, clip.sample_rate_hz, equaliser, clip.mask)
        # Its levels were taken when it was first cut.
        written = write_clip(destination, sound.codes, sound.sample_rate_hz, sound.source)
    except (RatingsError, OSError) as problem:
        if _holds(destination, clip):
            # Another program has cut it in the same moment, and may be reading it already.
            return
        raise StudyError(
            f"Clip {clip.code} of {study.folder.name} is missing or damaged, and cannot be cut "
            "again.",
            "Copy the study to a place where you may write, and open the copy. Scores are safe."
            if study.is_read_only
            else "Bring back the folder clips from where the study was copied. Scores are safe.",
        ) from problem
    if written != clip.content_hash:
        destination.unlink(missing_ok=True)
        raise StudyError(
            f"The recording behind clip {clip.code} of {study.folder.name} is not the one that was "
            "heard before.",
            "Bring back the original folder recordings. Scores are safe.",
        )


def _equaliser_file(study: Study, clip: StoredClip) -> Path | None:
    if clip.equaliser_id is None:
        return None
    file = study.folder.equaliser_file(clip.equaliser_id)
    if file is None:
        raise StudyError(
            f"The study {study.folder.name} misses clip {clip.code} and the equaliser it was run "
            "through.",
            "Bring back its folders clips and equalisers from where it was copied. "
            "Scores are safe.",
        )
    return file


def _equaliser(file: Path | None, clip: StoredClip) -> Equaliser | None:
    if file is None:
        return None
    equaliser = read_equaliser(file)
    if equaliser.equaliser_id != clip.equaliser_id:
        raise RecordingError("The equaliser is not the one that was heard before.")
    return equaliser


def _holds(destination: Path, clip: StoredClip) -> bool:
    try:
        return (
            _is_there(destination, clip.frames) and content_hash(destination) == clip.content_hash
        )
    except (RatingsError, OSError):
        return False
