"""Clips under blind codes and their key, written all together or not at all."""

import secrets
from contextlib import ExitStack, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from ratings.clips.cutting import ClipCut, ClipFacts, CutSound, write_cut
from ratings.clips.equaliser import Equaliser
from ratings.clips.level_scale import LevelScale
from ratings.clips.loop_points import Loop
from ratings.clips.provenance import program_version, provenance_of, write_key
from ratings.design.orders import blind_codes
from ratings.errors import RecordingError, reason_of
from ratings.recordings.opening import shown_name

_CODE_DIGITS = 6


@dataclass(frozen=True, slots=True)
class WrittenClip:
    """A clip on the disk, with where it came from."""

    code: str
    source: Path
    cut: ClipCut
    facts: ClipFacts


def write_blind(
    folder: Path,
    key: Path,
    sounds: list[CutSound],
    cuts: list[ClipCut],
    scale: LevelScale,
    equaliser: Equaliser | None,
    loop: Loop | None,
) -> tuple[WrittenClip, ...]:
    """Write clips under random codes, and the key to them.

    Parameters
    ----------
    folder
        Made when it is not there.
    key
        A file that is not there yet.
    sounds, cuts
        One for each recording.
    scale
        The full scale that all clips share.

    Returns
    -------
    The clips in the order of their codes.

    Raises
    ------
    RecordingError
        When anything cannot be written; nothing is left behind then.
    """
    now, seed = datetime.now(UTC), secrets.randbits(63)
    with ExitStack() as undoing:
        if _made(folder):
            undoing.callback(_remove_empty, folder)
        codes = _free_codes(folder, len(sounds), seed)
        clips = []
        # Written in the order of the codes: the order on the disk does not tell that of the sets.
        for index in sorted(range(len(codes)), key=codes.__getitem__):
            destination = folder / f"{codes[index]}.wav"
            facts = write_cut(sounds[index], destination)
            undoing.callback(destination.unlink, missing_ok=True)
            clips.append(WrittenClip(codes[index], sounds[index].source, cuts[index], facts))
        entries = [_entry(clip, now, equaliser, loop) for clip in clips]
        key_head = {"program_version": program_version(), "seed": seed}
        calibration = {"pa_per_full_scale": scale.pa_per_full_scale}
        write_key(key, key_head | calibration | {"clips": entries})
        undoing.pop_all()
    return tuple(clips)


def _entry(
    clip: WrittenClip, now: datetime, equaliser: Equaliser | None, loop: Loop | None
) -> dict[str, object]:
    provenance = provenance_of(clip.source, clip.cut, clip.facts, now, equaliser, loop)
    return {"code": clip.code} | provenance.as_json()


def _made(folder: Path) -> bool:
    try:
        if folder.is_dir():
            return False
        folder.mkdir()
    except OSError as problem:
        raise RecordingError(
            f"The folder {shown_name(folder)} cannot be made: {reason_of(problem)}.",
            "Name another folder for the clips.",
        ) from problem
    return True


def _remove_empty(folder: Path) -> None:
    # The first reason is told; a folder in which somebody else has put something stays.
    with suppress(OSError):
        folder.rmdir()


def _free_codes(folder: Path, count: int, seed: int) -> tuple[str, ...]:
    rng = np.random.default_rng(seed)
    while True:
        codes = blind_codes(count, _CODE_DIGITS, rng)
        if not any((folder / f"{code}.wav").exists() for code in codes):
            return codes
