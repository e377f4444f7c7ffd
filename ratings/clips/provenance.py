"""Where a clip came from, for the lead alone: it never lies beside the clips."""

import json
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from ratings.clips.cutting import ClipCut, ClipFacts
from ratings.clips.equaliser import Equaliser
from ratings.clips.loop_points import Loop
from ratings.errors import RecordingError, reason_of
from ratings.recordings.opening import open_recording, shown_name
from ratings.recordings.read import content_hash


@dataclass(frozen=True, slots=True)
class ClipProvenance:
    """All that is needed to cut a clip again and to know it again.

    Attributes
    ----------
    recording_name, recording_hash, recording_rate_hz
        File name, SHA-256 and sample rate of the recording.
    left_channel, right_channel
        Counted from 1, as recorders count.
    start_s, stop_s, gain_db, fade_s
        See `ClipCut`.
    equaliser_id
        SHA-256 of the equaliser's file; empty without one.
    sample_rate_hz, frames, clip_hash
        The clip.
    loop
        Its loop points; None where none were sought.
    program_version, made_at
        Version of this program, and the time of cutting in UTC, ISO 8601.
    """

    recording_name: str
    recording_hash: str
    recording_rate_hz: int
    left_channel: int
    right_channel: int
    start_s: float
    stop_s: float
    gain_db: float
    fade_s: float
    equaliser_id: str
    sample_rate_hz: int
    frames: int
    clip_hash: str
    loop: Loop | None
    program_version: str
    made_at: str

    def as_json(self) -> dict[str, object]:
        """Return the fields by their names."""
        return asdict(self)


def provenance_of(
    source: Path,
    cut: ClipCut,
    facts: ClipFacts,
    now: datetime,
    equaliser: Equaliser | None = None,
    loop: Loop | None = None,
) -> ClipProvenance:
    """Collect where a clip came from; the recording is read once for its hash.

    Raises
    ------
    RecordingError
        When the recording can no longer be read.
    """
    with open_recording(source) as recording:
        rate_hz, is_mono = recording.sample_rate_hz, recording.channels == 1
    return ClipProvenance(
        recording_name=shown_name(source)[1:-1],
        recording_hash=content_hash(source),
        recording_rate_hz=rate_hz,
        left_channel=1 if is_mono else cut.left_channel + 1,
        right_channel=1 if is_mono else cut.right_channel + 1,
        start_s=cut.start_s,
        stop_s=cut.stop_s,
        gain_db=cut.gain_db,
        fade_s=cut.fade_s,
        equaliser_id="" if equaliser is None else equaliser.equaliser_id,
        sample_rate_hz=facts.sample_rate_hz,
        frames=facts.frames,
        clip_hash=facts.content_hash,
        loop=loop,
        program_version=program_version(),
        made_at=now.astimezone(UTC).isoformat(timespec="seconds"),
    )


def program_version() -> str:
    """Return the version of the installed program."""
    try:
        return version("twinset")
    except PackageNotFoundError:
        return "not installed"


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
        raise key_exists(path) from error
    except OSError as error:
        raise RecordingError(
            f"The key {shown_name(path)} cannot be written: {reason_of(error)}.",
            "Name another place for the key; no clip was left without one.",
        ) from error


def key_exists(path: Path) -> RecordingError:
    """Say that a key is not overwritten."""
    return RecordingError(
        f"There is a key {shown_name(path)} already; without it its clips would have no names.",
        "Name another place for the new key.",
    )
