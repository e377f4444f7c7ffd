"""What the command ``clip`` tells: never a code beside the recording that it stands for."""

import math
from dataclasses import asdict, dataclass
from pathlib import Path

from ratings.clips.alike import AlikeClips, PlannedClip
from ratings.clips.blind_clips import WrittenClip
from ratings.clips.cutting import ClipFacts
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
    alike
        What the clips share, and each in the order of the recordings as they were named.
    clips
        In the order of their codes.
    """

    folder: Path
    key: Path
    alike: AlikeClips
    clips: list[WrittenClip]

    @property
    def facts(self) -> ClipFacts:
        """Of one clip: in rate and length all are alike."""
        return self.clips[0].facts

    @property
    def recordings(self) -> list[tuple[PlannedClip, tuple[str, ...]]]:
        """What was cut from each recording, and what is to be said about it, in their order."""
        remarks = {id(clip.planned): clip.facts.remarks for clip in self.clips}
        return [
            (
                planned,
                (
                    *self.alike.window_remarks,
                    *(planned.speed.remarks if planned.speed else ()),
                    *remarks[id(planned)],
                ),
            )
            for planned in self.alike.clips
        ]


def as_json(report: ClipReport) -> Json:
    """Return the figures for other programs."""
    rate_hz, loop, scale = report.facts.sample_rate_hz, report.alike.loop, report.alike.scale
    return {
        "folder": str(report.folder),
        "key": str(report.key),
        "sample_rate_hz": rate_hz,
        "frames": report.facts.frames,
        "length_s": report.facts.frames / rate_hz,
        "level_true": scale.pa_per_full_scale is not None,
        "pa_per_full_scale": scale.pa_per_full_scale,
        "clips": [_clip_json(clip, scale.full_scale_db) for clip in report.clips],
        "recordings": [_recording_json(*each) for each in report.recordings],
        "loop": None
        if loop is None
        else asdict(loop)
        | {"start_s": loop.start_frame / rate_hz, "stop_s": loop.stop_frame / rate_hz},
        "no_loop_because": report.alike.no_loop_because or None,
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


def _recording_json(planned: PlannedClip, remarks: tuple[str, ...]) -> Json:
    speeds_km_h = planned.speeds_km_h
    return {
        "file": planned.source.facts.name,
        "start_s": planned.cut.start_s,
        "stop_s": planned.cut.stop_s,
        "speed_km_h": None if speeds_km_h is None else list(speeds_km_h),
        "remarks": list(remarks),
    }


def as_text(report: ClipReport) -> str:
    """Return the figures for a person to read."""
    facts, scale = report.facts, report.alike.scale
    one = len(report.clips) == 1
    lines = [
        f"{len(report.clips)} clip{'' if one else 's'} of "
        f"{facts.frames / facts.sample_rate_hz:.3f} s at {facts.sample_rate_hz} Hz in "
        f"{printable(str(report.folder))}",
        "",
        "  clip    peak dBFS  LAeq dB  LAFmax dB  "
        + (
            "(levels re full scale: not calibrated)"
            if scale.pa_per_full_scale is None
            else f"(full scale {scale.pa_per_full_scale:.4g} Pa)"
        ),
    ]
    full_scale_db = scale.full_scale_db
    lines += [
        f"  {clip.code}  {_peak_db(clip):9.1f}  "
        f"{clip.facts.leq_a_db_re_full_scale + full_scale_db:7.1f}  "
        f"{clip.facts.fast_max_a_db_re_full_scale + full_scale_db:9.1f}"
        for clip in report.clips
    ]
    lines += ["", "Cut from, in the order given:"]
    for planned, remarks in report.recordings:
        lines.append(f"  {_cut_words(planned)}")
        lines += [f"    {remark}" for remark in remarks]
    lines += ["", _loop_words(report)]
    key = printable(str(report.key))
    lines.append(f"What each code stands for is in {key}; keep it from the evaluators.")
    return "\n".join(lines) + "\n"


def _cut_words(planned: PlannedClip) -> str:
    cut = planned.cut
    words = f"{shown_name(planned.source.path)}: {cut.start_s:.3f} to {cut.stop_s:.3f} s"
    if planned.speeds_km_h is None:
        return words
    first_km_h, last_km_h = planned.speeds_km_h
    return f"{words}, {first_km_h:.1f} to {last_km_h:.1f} km/h"


def _loop_words(report: ClipReport) -> str:
    loop, rate_hz = report.alike.loop, report.facts.sample_rate_hz
    if loop is None:
        return f"No loop: {report.alike.no_loop_because}"
    return (
        f"Loop: {loop.start_frame / rate_hz:.3f} to {loop.stop_frame / rate_hz:.3f} s "
        f"(frames {loop.start_frame} to {loop.stop_frame}), seam {loop.seam_db:+.1f} dB "
        f"(0: unrelated, the lower the better), colour {loop.colour_db:.1f} dB apart."
    )


def _peak_db(clip: WrittenClip) -> float:
    return 20 * math.log10(clip.facts.peak_full_scale)
