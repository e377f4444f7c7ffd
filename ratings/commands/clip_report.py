"""What the command ``clip`` tells: never a code beside the recording that it stands for."""

import math
from dataclasses import asdict, dataclass
from pathlib import Path

from ratings.clips.blind_clips import WrittenClip
from ratings.clips.cutting import CutSound
from ratings.clips.level_scale import LevelScale
from ratings.clips.loop_points import Loop
from ratings.commands.clip_windows import ChosenWindow
from ratings.commands.common_options import Json
from ratings.recordings.opening import shown_name
from ratings.recordings.refusals import printable


@dataclass(frozen=True, slots=True, eq=False)
class ClipReport:
    """What was cut.

    Attributes
    ----------
    folder, key
        Where clips and key are.
    sounds, windows
        In the order of the recordings as they were named.
    clips
        In the order of their codes.
    scale
        The full scale that all clips share.
    loop, no_loop_because
        The loop of all clips, or the sentence that says why there is none.
    """

    folder: Path
    key: Path
    sounds: tuple[CutSound, ...]
    windows: tuple[ChosenWindow, ...]
    clips: tuple[WrittenClip, ...]
    scale: LevelScale
    loop: Loop | None
    no_loop_because: str

    @property
    def sample_rate_hz(self) -> int:
        """Rate of all clips."""
        return self.sounds[0].sample_rate_hz

    @property
    def frames(self) -> int:
        """Length of all clips."""
        return len(self.sounds[0].codes)


def as_json(report: ClipReport) -> Json:
    """Return the figures for other programs."""
    rate_hz, loop = report.sample_rate_hz, report.loop
    return {
        "folder": str(report.folder),
        "key": str(report.key),
        "sample_rate_hz": rate_hz,
        "frames": report.frames,
        "length_s": report.frames / rate_hz,
        "level_true": report.scale.pa_per_full_scale is not None,
        "pa_per_full_scale": report.scale.pa_per_full_scale,
        "clips": [_clip_json(clip, report.scale.full_scale_db) for clip in report.clips],
        "recordings": [
            _recording_json(sound, chosen)
            for sound, chosen in zip(report.sounds, report.windows, strict=True)
        ],
        "loop": None
        if loop is None
        else asdict(loop)
        | {"start_s": loop.start_frame / rate_hz, "stop_s": loop.stop_frame / rate_hz},
        "no_loop_because": report.no_loop_because or None,
    }


def _clip_json(clip: WrittenClip, full_scale_db: float) -> Json:
    facts = clip.facts
    return {
        "code": clip.code,
        "file": f"{clip.code}.wav",
        "peak_db_re_full_scale": _peak_db(clip),
        "leq_a_db": facts.leq_a_db_re_full_scale + full_scale_db,
        "fast_max_a_db": facts.fast_max_a_db_re_full_scale + full_scale_db,
    }


def _recording_json(sound: CutSound, chosen: ChosenWindow) -> Json:
    speeds_km_h = chosen.speeds_km_h
    return {
        "file": shown_name(sound.source)[1:-1],
        "start_s": chosen.window.start_s,
        "stop_s": chosen.window.stop_s,
        "speed_km_h": None if speeds_km_h is None else list(speeds_km_h),
        "remarks": [*chosen.remarks, *sound.remarks],
    }


def as_text(report: ClipReport) -> str:
    """Return the figures for a person to read."""
    length_s = report.frames / report.sample_rate_hz
    one = len(report.clips) == 1
    lines = [
        f"{len(report.clips)} clip{'' if one else 's'} of {length_s:.3f} s at "
        f"{report.sample_rate_hz} Hz in {printable(str(report.folder))}",
        "",
        "  clip    peak dBFS  LAeq dB  LAFmax dB  "
        + (
            "(levels re full scale: not calibrated)"
            if report.scale.pa_per_full_scale is None
            else f"(full scale {report.scale.pa_per_full_scale:.4g} Pa)"
        ),
    ]
    full_scale_db = report.scale.full_scale_db
    lines += [
        f"  {clip.code}  {_peak_db(clip):9.1f}  "
        f"{clip.facts.leq_a_db_re_full_scale + full_scale_db:7.1f}  "
        f"{clip.facts.fast_max_a_db_re_full_scale + full_scale_db:9.1f}"
        for clip in report.clips
    ]
    lines += ["", "Cut from, in the order given:"]
    for sound, chosen in zip(report.sounds, report.windows, strict=True):
        lines.append(f"  {_cut_words(sound, chosen)}")
        lines += [f"    {remark}" for remark in (*chosen.remarks, *sound.remarks)]
    lines += ["", _loop_words(report)]
    key = printable(str(report.key))
    lines.append(f"What each code stands for is in {key}; keep it from the evaluators.")
    return "\n".join(lines) + "\n"


def _cut_words(sound: CutSound, chosen: ChosenWindow) -> str:
    window = chosen.window
    words = f"{shown_name(sound.source)}: {window.start_s:.3f} to {window.stop_s:.3f} s"
    if chosen.speeds_km_h is None:
        return words
    first_km_h, last_km_h = chosen.speeds_km_h
    return f"{words}, {first_km_h:.1f} to {last_km_h:.1f} km/h"


def _loop_words(report: ClipReport) -> str:
    loop, rate_hz = report.loop, report.sample_rate_hz
    if loop is None:
        return f"No loop: {report.no_loop_because}"
    return (
        f"Loop: {loop.start_frame / rate_hz:.3f} to {loop.stop_frame / rate_hz:.3f} s "
        f"(frames {loop.start_frame} to {loop.stop_frame}), seam {loop.seam_db:+.1f} dB "
        f"(0: unrelated, the lower the better), colour {loop.colour_db:.1f} dB apart."
    )


def _peak_db(clip: WrittenClip) -> float:
    return 20 * math.log10(clip.facts.peak_full_scale)
