"""The rows of a new study: cover, bands, sets, recordings, clips."""

import secrets
from dataclasses import replace
from datetime import datetime

import sqlalchemy as sa

from ratings.clips.prepared import ClipPlace, PreparedClip
from ratings.clips.sources import ClipSource
from ratings.design.orders import blind_codes
from ratings.design.streams import stream
from ratings.design.study_plan import ChosenRecording, StudyPlan
from ratings.storage import tables
from ratings.storage.measurement_rows import write_bands
from ratings.storage.row_ids import add_row, add_rows
from ratings.storage.run_rows import speed_columns, write_channels, write_speed
from ratings.study.bands import DEFAULT_BANDS
from ratings.study.figures import Role
from ratings.study.runs import ChannelSetting, ConstantSpeed
from ratings.study.sets import Condition

_OWN_UNITS = "pascal by the file's own units"


def write_study(
    connection: sa.Connection,
    plan: StudyPlan,
    taken: dict[ChosenRecording, ClipSource],
    clips: list[PreparedClip],
    now: datetime,
) -> None:
    """Write cover, bands, sets, recordings and clips of a new study into its empty tables."""
    _write_cover(connection, plan, now)
    write_bands(connection, DEFAULT_BANDS, now)
    _write_sets(connection, plan)
    recording_ids = {}
    conditions = {condition.condition_id: condition for condition in plan.conditions}
    for recording, copied in taken.items():
        facts = copied.facts
        recording_ids[recording] = recording_id = add_row(
            connection,
            tables.recording,
            set_id=recording.set_id,
            condition_id=recording.condition_id,
            stored_name=copied.file.name,
            original_name=recording.path.name,
            content_hash=facts.content_hash,
            sample_rate_hz=facts.sample_rate_hz,
            channels=facts.channels,
            frames=facts.frames,
            pa_per_full_scale=copied.pa_per_full_scale,
            imported_at=now.isoformat(),
            run=1,
        )
        speed = recording.speed or _planned_speed(conditions[recording.condition_id])
        if speed is not None:
            write_speed(connection, recording_id, speed_columns(speed, copied.speed_hash), now)
    clip_ids = {
        clip.place: _write_clip(connection, clip, recording_ids[clip.recording]) for clip in clips
    }
    for recording, clip in {clip.recording: clip for clip in clips}.items():
        settings = _channels_of(clip, taken[recording])
        write_channels(connection, recording_ids[recording], settings, now)
    _write_comparisons(connection, clip_ids)


def _planned_speed(condition: Condition) -> ConstantSpeed | None:
    """Give the speed of a steady run of which nothing was said, as it is for imported runs."""
    if condition.manoeuvre != "steady" or not condition.speed_km_h:
        return None
    return ConstantSpeed(condition.speed_km_h)


def _write_comparisons(connection: sa.Connection, ids: dict[ClipPlace, int]) -> None:
    rows = [
        {
            "condition_id": place.condition_id,
            "set_id": place.set_id,
            "role": place.role,
            "clip_id": clip_id,
            "control_clip_id": ids[replace(place, is_control=True)],
        }
        for place, clip_id in ids.items()
        if not place.is_control
    ]
    add_rows(connection, tables.comparison, rows)


def _channels_of(clip: PreparedClip, taken: ClipSource) -> list[ChannelSetting]:
    """Make the channels that a clip was cut from the driver's ears; of the others nothing is known.

    One channel for both ears counts as the left one.
    """
    roles: dict[int, Role] = {
        clip.planned.cut.right_channel: "driver right ear",
        clip.planned.cut.left_channel: "driver left ear",
    }
    return [
        _channel(clip.recording, roles.get(channel, "not used"), own)
        for channel, own in enumerate(taken.facts.pa_per_full_scale)
    ]


def _channel(recording: ChosenRecording, role: Role, own: float | None) -> ChannelSetting:
    given, words = recording.pa_per_full_scale, recording.calibration
    if given is not None and not words:
        return ChannelSetting(role, given, f"{given:g} Pa per full scale, given")
    if given is not None and role != "not used":
        return ChannelSetting(role, given, words)
    return ChannelSetting(role) if own is None else ChannelSetting(role, own, _OWN_UNITS)


def _write_cover(connection: sa.Connection, plan: StudyPlan, now: datetime) -> None:
    link = secrets.token_hex(16)
    connection.execute(
        tables.study.insert().values(
            name=plan.name.strip(),
            vehicle=plan.vehicle.name,
            note=plan.note,
            is_invented=int(plan.is_invented),
            scale_low=plan.scale.low,
            scale_high=plan.scale.high,
            scale_step=plan.scale.step,
            anchors_version=plan.scale.anchors_version,
            created_at=now.isoformat(),
            link=link,
        )
    )
    connection.execute(tables.design.insert().values(seed=str(plan.seed), link=link))
    for position, attribute in enumerate(plan.attributes, start=1):
        connection.execute(
            tables.attribute.insert().values(
                attribute_id=position,
                position=position,
                key=attribute.key,
                name=attribute.name,
                definition=attribute.definition,
                low_hz=attribute.low_hz,
                high_hz=attribute.high_hz,
                manoeuvre=attribute.manoeuvre,
            )
        )
    for position, condition in enumerate(plan.conditions, start=1):
        connection.execute(
            tables.condition.insert().values(
                condition_id=condition.condition_id,
                position=position,
                surface=condition.surface,
                manoeuvre=condition.manoeuvre,
                speed_km_h=condition.speed_km_h,
                end_speed_km_h=condition.end_speed_km_h,
            )
        )


def _write_sets(connection: sa.Connection, plan: StudyPlan) -> None:
    codes = blind_codes(len(plan.sets), 3, stream(plan.seed, "set codes"))
    for position, (tyre_set, code) in enumerate(zip(plan.sets, codes, strict=True), start=1):
        connection.execute(
            tables.tyre_set.insert().values(
                set_id=tyre_set.set_id,
                position=position,
                name=tyre_set.name,
                size=tyre_set.size,
                note=tyre_set.note,
                is_control=int(tyre_set.is_control),
                code=code,
            )
        )


def _write_clip(connection: sa.Connection, clip: PreparedClip, recording_id: int) -> int:
    clip_id = add_row(
        connection,
        tables.clip,
        condition_id=clip.recording.condition_id,
        code=clip.code,
        content_hash=clip.facts.content_hash,
        sample_rate_hz=clip.facts.sample_rate_hz,
        frames=clip.facts.frames,
        pa_per_full_scale=clip.pa_per_full_scale,
    )
    cut, equaliser = clip.planned.cut, clip.planned.equaliser
    connection.execute(
        tables.clip_source.insert().values(
            clip_id=clip_id,
            recording_id=recording_id,
            left_channel=cut.left_channel,
            right_channel=cut.right_channel,
            start_s=cut.start_s,
            stop_s=cut.stop_s,
            gain_db=cut.gain_db,
            equaliser=equaliser.equaliser_id if equaliser else None,
            remarks="\n".join((*clip.remarks, *clip.facts.remarks)),
            peak_full_scale=clip.facts.peak_full_scale,
            leq_a_db_re_full_scale=clip.facts.leq_a_db_re_full_scale,
            fast_max_a_db_re_full_scale=clip.facts.fast_max_a_db_re_full_scale,
            mask_step=clip.mask.step,
            mask_seed=clip.mask.seed,
        )
    )
    return clip_id
