"""What the log of defects says: where it happened, and nothing that identifies."""

import pytest
import soundfile
import sqlalchemy as sa
from studies import raw_database, small_study

from app.main import told_defect
from ratings.errors import RecordingError
from ratings.storage import tables


def caught(act):
    try:
        act()
    except Exception as defect:  # noqa: BLE001  # as the hook does
        return told_defect(defect)
    raise AssertionError("nothing went wrong")


def test_that_a_defect_in_a_statement_tells_no_parameter(tmp_path):
    study = small_study(tmp_path)

    def write():
        with study.writing() as connection:
            known = connection.execute(sa.select(tables.evaluator.c.evaluator_id)).scalars().first()
            connection.execute(
                tables.evaluator.insert().values(evaluator_id=known, code="secret", name="Birch")
            )

    said = caught(write)
    study.close()
    assert "UNIQUE constraint failed: evaluator.evaluator_id" in said
    assert "in write" in said
    assert "secret" not in said
    assert "Birch" not in said


def test_that_no_name_of_a_recording_or_set_reaches_the_log(tmp_path):
    study = small_study(tmp_path)
    hidden = ["Maple", "Birch"]
    raw = raw_database(study.folder)
    hidden += [name for (name,) in raw.execute("SELECT original_name FROM recording")]
    raw.close()
    study.close()
    broken = tmp_path / "Birch second run.wav"
    broken.write_bytes(b"no sound")

    def named_by_a_library():
        soundfile.info(str(broken))

    def named_by_python():
        (tmp_path / "Birch.txt").read_text()

    def named_by_a_key():
        {"Maple": 1}["Birch"]

    def named_by_a_cause():
        birch = RecordingError("'Birch_1.wav' holds nothing.")
        try:
            raise birch
        except RecordingError as problem:
            raise ValueError("a run: Birch second run.wav") from problem

    for act in (named_by_a_library, named_by_python, named_by_a_key, named_by_a_cause):
        said = caught(act)
        messages = [line for line in said.splitlines() if not line.startswith("  ")]
        assert f"in {act.__name__}" in said
        assert any("Error" in line for line in messages)
        assert not [line for line in messages if any(name in line for name in hidden)]


def test_that_a_cause_is_told_before_what_it_led_to():

    def fails():
        try:
            {}[3]
        except KeyError as problem:
            raise sa.exc.ArgumentError("later") from problem

    said = caught(fails)
    assert said.index("KeyError: 3") < said.index("ArgumentError: later")


@pytest.mark.parametrize("words", ["no such table: lead.clip_source", "list index out of range"])
def test_that_what_names_nothing_is_told_whole(words):
    def fails():
        raise IndexError(words)

    assert f"IndexError: {words}\n" in caught(fails)
