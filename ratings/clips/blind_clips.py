"""Clips under blind codes and the key to them, written all together or not at all."""

import json
import secrets
from contextlib import ExitStack, suppress
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from ratings.clips.alike import AlikeClips, PlannedClip
from ratings.clips.cutting import ClipFacts, write_cut
from ratings.clips.loop_points import Loop
from ratings.design.orders import blind_codes
from ratings.errors import RecordingError, reason_of
from ratings.recordings.opening import shown_name
from ratings.study.program_version import program_version

_CODE_DIGITS = 6


@dataclass(frozen=True, slots=True, eq=False)
class WrittenClip:
    """A clip on the disk, with where it came from."""

    code: str
    planned: PlannedClip
    facts: ClipFacts


def write_blind(alike: AlikeClips, folder: Path, key: Path | None = None) -> list[WrittenClip]:
    """Cut clips and write them under random codes, and the key to them.

    Parameters
    ----------
    folder
        Made when it is not there.
    key
        See `key_place`.

    Returns
    -------
    The clips in the order of their codes.

    Raises
    ------
    RecordingError
        When anything cannot be cut or written; nothing is left behind then.
    """
    key = key_place(folder, key)
    now, seed = datetime.now(UTC), secrets.randbits(63)
    sounds = [planned.sound() for planned in alike.clips]
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
            clips.append(WrittenClip(codes[index], alike.clips[index], facts))
        content = {
            "program_version": program_version(),
            "seed": seed,
            "pa_per_full_scale": alike.scale.pa_per_full_scale,
            "clips": [
                {"code": clip.code} | provenance(clip.planned, clip.facts, alike.loop, now)
                for clip in clips
            ],
        }
        write_key(key, content)
        undoing.pop_all()
    return clips


def key_place(folder: Path, key: Path | None = None) -> Path:
    """Give the file of the key: by default beside the folder of the clips, never in it.

    Raises
    ------
    RecordingError
        When there is a key already, or it would lie among the clips.
    """
    try:
        whole = folder.resolve()
        if not whole.name:
            raise RecordingError(
                f"Nothing can lie beside {shown_name(whole)}, and the key must not lie in it.",
                "Name a folder for the clips.",
            )
        key = key or whole.with_name(f"{whole.name}-key.json")
        is_among_clips, is_there = key.resolve().is_relative_to(whole), key.exists()
    except OSError as problem:
        raise RecordingError(
            f"The key cannot be written beside {shown_name(folder)}: {reason_of(problem)}.",
            "Name another place for the key.",
        ) from problem
    if is_among_clips:
        raise RecordingError(
            f"The key {shown_name(key)} would lie among the clips, where evaluators could read it.",
            "Name a place outside the folder of the clips.",
        )
    if is_there:
        raise _key_exists(key)
    return key


def provenance(
    planned: PlannedClip, facts: ClipFacts, loop: Loop | None, now: datetime
) -> dict[str, object]:
    """Collect all that is needed to cut a clip again and to know it again, for the lead alone.

    Channels count from 1, as recorders count; hashes are SHA-256; the equaliser's is empty without
    one; the time is UTC, ISO 8601.
    """
    source, cut, equaliser = planned.source, planned.cut, planned.equaliser
    return {
        "recording_name": source.facts.name,
        "recording_hash": source.facts.content_hash,
        "recording_rate_hz": source.facts.sample_rate_hz,
        "left_channel": cut.left_channel + 1,
        "right_channel": cut.right_channel + 1,
        "start_s": cut.start_s,
        "stop_s": cut.stop_s,
        "gain_db": cut.gain_db,
        "fade_s": cut.fade_s,
        "equaliser_id": "" if equaliser is None else equaliser.equaliser_id,
        "sample_rate_hz": facts.sample_rate_hz,
        "frames": facts.frames,
        "clip_hash": facts.content_hash,
        "loop": None if loop is None else asdict(loop),
        "program_version": program_version(),
        "made_at": now.astimezone(UTC).isoformat(timespec="seconds"),
    }


def write_key(path: Path, key: dict[str, object]) -> None:
    """Write the key of blind codes as JSON; one that is there is never overwritten.

    Raises
    ------
    RecordingError
        When there is a file already or it cannot be written; no half file is left.
    """
    text = json.dumps(key, indent=2, allow_nan=False, ensure_ascii=False) + "\n"
    try:
        with path.open("x", encoding="utf-8") as stream:
            try:
                stream.write(text)
                stream.flush()
            except OSError:
                path.unlink(missing_ok=True)
                raise
    except FileExistsError as error:
        raise _key_exists(path) from error
    except OSError as error:
        raise RecordingError(
            f"The key {shown_name(path)} cannot be written: {reason_of(error)}.",
            "Name another place for the key; no clip was left without one.",
        ) from error


def _key_exists(path: Path) -> RecordingError:
    return RecordingError(
        f"There is a key {shown_name(path)} already; without it its clips would have no names.",
        "Name another place for the new key.",
    )


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
