import sqlalchemy as sa

from ratings.storage import tables
from ratings.storage.blind_study import StudyFolder
from ratings.storage.lead_file import connect_both
from ratings.storage.migrations import STEPS, migrate, version_of


def new_files(path):
    (path / "lead").mkdir()
    return connect_both(StudyFolder(path), read_only=False, may_be_new=True)


def test_that_all_steps_together_give_the_columns_that_queries_name(tmp_path):
    engine = new_files(tmp_path)
    with engine.connect() as connection:
        migrate(connection)
        inspector = sa.inspect(connection)
        found = {
            (schema, name): {column["name"] for column in inspector.get_columns(name, schema)}
            for schema in (None, "lead")
            for name in inspector.get_table_names(schema)
        }
    engine.dispose()
    named = {
        (table.schema, table.name): {column.name for column in table.columns}
        for table in (*tables.BLIND, *tables.IDENTIFYING)
    }
    assert {name: found[name] for name in named} == named
    assert set(found) - set(named) == {(None, "migration"), (None, "ledger"), ("lead", "ledger")}
    assert {table.schema for table in tables.BLIND} == {None}
    assert {table.schema for table in tables.IDENTIFYING} == {"lead"}


def test_that_steps_are_taken_once(tmp_path):
    engine = new_files(tmp_path)
    with engine.connect() as connection:
        migrate(connection)
        migrate(connection)
        connection.rollback()
        assert version_of(connection) == len(STEPS)
    engine.dispose()


def test_that_a_step_that_fails_leaves_the_file_as_it_was(tmp_path, monkeypatch):
    def half_a_step(connection):
        connection.execute(sa.text("CREATE TABLE half (done INTEGER)"))
        raise RuntimeError

    monkeypatch.setattr("ratings.storage.migrations.STEPS", (*STEPS, half_a_step))
    engine = new_files(tmp_path)
    with engine.connect() as connection:
        try:
            migrate(connection)
        except RuntimeError:
            connection.rollback()
        assert version_of(connection) == len(STEPS)
        assert "half" not in sa.inspect(connection).get_table_names()
    engine.dispose()
