"""The names of tables and columns for queries; their types live in the migrations."""

import sqlalchemy as sa


def _table(name: str, columns: str) -> sa.TableClause:
    return sa.table(name, *(sa.column(column) for column in columns.split()))


study = _table(
    "study",
    "name vehicle note is_invented scale_low scale_high scale_step anchors_version seed created_at",
)
attribute = _table(
    "attribute", "attribute_id position key name definition low_hz high_hz manoeuvre"
)
condition = _table("condition", "condition_id position surface manoeuvre speed_km_h end_speed_km_h")
evaluator = _table("evaluator", "evaluator_id code name")
clip = _table(
    "clip",
    "clip_id condition_id code content_hash sample_rate_hz frames pa_per_full_scale "
    "peak_full_scale leq_a_db_re_full_scale fast_max_a_db_re_full_scale",
)
session = _table("session", "session_id evaluator_id ordinal seed design_version created_at")
pair = _table("pair", "pair_id session_id position condition_id clip_a clip_b")
pair_event = _table("pair_event", "pair_event_id pair_id kind happened_at")
score = _table("score", "score_id pair_id side attribute_id value said_equal given_at")
note = _table("note", "note_id pair_id side text given_at")
tyre_set = _table("tyre_set", "set_id position name size note is_control code")
recording = _table(
    "recording",
    "recording_id set_id condition_id stored_name original_name content_hash sample_rate_hz "
    "channels frames pa_per_full_scale imported_at",
)
clip_source = _table(
    "clip_source",
    "clip_id recording_id left_channel right_channel start_s stop_s gain_db equaliser remarks",
)
pair_role = _table("pair_role", "pair_id role")
brought_score = _table(
    "brought_score",
    "brought_score_id evaluator_id set_id condition_id attribute_id repeat value origin given_at "
    "file_name file_hash brought_at",
)

#: What an evaluator's side may read. Nothing in these says which set a clip is of.
BLIND = (study, attribute, condition, evaluator, clip, session, pair, pair_event, score, note)
#: What ties clips and pairs to sets; for the lead's side only.
IDENTIFYING = (tyre_set, recording, clip_source, pair_role, brought_score)
