"""Levels of a session's clips come from the samples that are played, and from nothing else."""

import dataclasses

import pytest
import soundfile
from studies import nth, raw_database, small_plan

from app.listening.pair_sound import SessionSound
from ratings.errors import PlaybackError
from ratings.intake.making import make_study
from ratings.storage.listening_desk import ListeningDesk, session_seats

FULL_SCALE_PA = 20.0


@pytest.fixture
def study(tmp_path):
    plan = small_plan(tmp_path / "in", sets=3)
    recordings = tuple(
        dataclasses.replace(r, pa_per_full_scale=FULL_SCALE_PA) for r in plan.recordings
    )
    made = make_study(tmp_path / "study", dataclasses.replace(plan, recordings=recordings))
    yield made
    made.close()


def edit(study, statement):
    """Change the database behind the program's back."""
    raw = raw_database(study.folder)
    raw.executescript(statement)
    raw.close()


def desk_of(study):
    return ListeningDesk(study, session_seats(study)[0].session_id)


def test_that_levels_written_into_the_database_change_nothing_that_is_played(study):
    before = SessionSound(desk_of(study), FULL_SCALE_PA)
    before.measure()
    columns = (
        "peak_full_scale = {0}, leq_a_db_re_full_scale = {0}, fast_max_a_db_re_full_scale = {0}"
    )
    # They are the lead's, and append-only; whoever wants to can still edit them.
    edit(study, "DROP TRIGGER lead.clip_source_refuses_update")
    edit(study, "UPDATE clip_source SET " + columns.format(-200.0))
    desk = desk_of(study)
    after = SessionSound(desk, FULL_SCALE_PA)
    after.measure()
    assert after.level_db_a() == before.level_db_a()
    # 20 Pa at full scale and noise of rms 0.05: about 94 dB, above the ceiling of 85 dB(A).
    with pytest.raises(PlaybackError, match="above the ceiling"):
        after.read(desk.pairs[0])


def test_that_one_uncalibrated_clip_leaves_the_level_of_all_unknown(study):
    edit(study, f"UPDATE clip SET pa_per_full_scale = NULL WHERE clip_id = {nth('clip')}")
    desk = desk_of(study)
    sound = SessionSound(desk, 2.0)
    sound.measure()
    assert not sound.is_calibrated
    assert sound.level_db_a() is None
    for pair in desk.pairs:
        loaded = sound.read(pair).loaded
        assert loaded.gain_a == loaded.gain_b


def test_that_a_clip_that_cannot_be_read_is_counted_and_the_others_are_measured(study):
    desk = desk_of(study)
    lost = desk.clip_file(desk.pairs[0].clip_a)
    for original in study.folder.recordings.iterdir():
        original.unlink()
    soundfile.write(lost, [[0.0, 0.0]] * 100, 48000, subtype="PCM_24")
    sound = SessionSound(desk, 2000.0)
    told = []
    sound.measure(lambda part, words: told.append((part, words)))
    assert sound.unreadable == 1
    assert told[0] == (0.0, f"Clip 1 of {len(told)}")
    assert sound.level_db_a() is None
