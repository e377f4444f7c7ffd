"""The names of tables and columns for queries; their types live in the migrations."""

import sqlalchemy as sa

from ratings.storage.cells import cell

#: What the lead's own file is called beside the file that everybody reads.
LEAD_SCHEMA = "lead"


def _table(name: str, columns: str, schema: str | None = None) -> sa.TableClause:
    named = (sa.column(column, cell(name, column)) for column in columns.split())
    return sa.table(name, *named, schema=schema)


def _lead(name: str, columns: str) -> sa.TableClause:
    return _table(name, columns, LEAD_SCHEMA)


study = _table(
    "study",
    "name vehicle note is_invented scale_low scale_high scale_step anchors_version created_at link",
)
attribute = _table(
    "attribute", "attribute_id position key name definition low_hz high_hz manoeuvre"
)
condition = _table("condition", "condition_id position surface manoeuvre speed_km_h end_speed_km_h")
evaluator = _table("evaluator", "evaluator_id code name")
clip = _table(
    "clip",
    "clip_id condition_id code content_hash sample_rate_hz frames pa_per_full_scale",
)
session = _table("session", "session_id ordinal design_version created_at")
seat = _table("seat", "session_id evaluator_id taken_at")
pair = _table("pair", "pair_id session_id position condition_id clip_a clip_b")
pair_event = _table("pair_event", "pair_event_id pair_id kind happened_at output_db below_db")
score = _table("score", "score_id pair_id side attribute_id value said_equal given_at")
note = _table("note", "note_id pair_id side text given_at")
design = _lead("design", "seed link")
tyre_set = _lead("tyre_set", "set_id position name size note is_control code")
recording = _lead(
    "recording",
    "recording_id set_id condition_id stored_name original_name content_hash sample_rate_hz "
    "channels frames pa_per_full_scale imported_at run",
)
clip_source = _lead(
    "clip_source",
    "clip_id recording_id left_channel right_channel start_s stop_s gain_db equaliser remarks "
    "peak_full_scale leq_a_db_re_full_scale fast_max_a_db_re_full_scale mask_step mask_seed",
)
comparison = _lead("comparison", "comparison_id condition_id set_id role clip_id control_clip_id")
pair_role = _lead("pair_role", "pair_id role")
brought_score = _lead(
    "brought_score",
    "brought_score_id evaluator_id set_id condition_id attribute_id repeat value origin given_at "
    "file_name file_hash brought_at",
)

channel_setting = _lead(
    "channel_setting",
    "channel_setting_id recording_id channel role pa_per_full_scale calibration set_at",
)
tread = _lead("tread", "tread_id set_id size pitches set_at")
run_note = _lead(
    "run_note",
    "run_note_id recording_id air_c surface_c tyre_air_c wind_m_s pressure_front_kpa "
    "pressure_rear_kpa load_front_kg load_rear_kg remark noted_at",
)
speed_source = _lead(
    "speed_source",
    "speed_source_id recording_id kind stored_name original_name content_hash channel "
    "km_h_per_unit km_h_at_zero pulses_per_metre speed_km_h offset_s set_at",
)
band_table = _table("band_table", "version made_at")
band = _table("band", "version position key name low_hz high_hz")
measuring = _lead(
    "measuring",
    "measuring_id recording_id band_version program_version settings arrays_name measured_at",
)
figure = _lead("figure", "measuring_id position channel key unit value")
remark = _lead("remark", "remark_id measuring_id severity channel sentence")
setting = _lead("setting", "setting_id name value score_count set_at")
key_opening = _lead(
    "key_opening", "key_opening_id who why last_score_id last_brought_score_id opened_at"
)
brought_mark = _lead("brought_mark", "brought_mark_id brought_score_id")
score_import = _lead("score_import", "score_import_id file_hash sets_by_name imported_at")
exposure = _table("exposure", "exposure_id evaluator_id clip_id began_at seconds level_db_a")

#: What an evaluator's side may read, in the study's file. Nothing in these says which set a clip is
#: of, nor how loud it is; exposures of earlier versions name their clips.
BLIND = (
    study,
    attribute,
    condition,
    evaluator,
    clip,
    session,
    seat,
    pair,
    pair_event,
    score,
    note,
    band_table,
    band,
    exposure,
)
#: What ties clips, pairs and measurements to sets, and what the lead settles; in the lead's file,
#: see lead_file.
IDENTIFYING = (
    design,
    tyre_set,
    recording,
    clip_source,
    comparison,
    pair_role,
    brought_score,
    channel_setting,
    tread,
    run_note,
    speed_source,
    measuring,
    figure,
    remark,
    setting,
    key_opening,
    score_import,
    brought_mark,
)
