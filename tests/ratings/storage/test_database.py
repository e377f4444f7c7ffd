import os
import sqlite3
from concurrent.futures import ThreadPoolExecutor
from pathlib import PurePosixPath, PureWindowsPath
from threading import Barrier

import pytest
from sqlalchemy.exc import OperationalError
from studies import Clock, hear_both, small_study

from ratings.errors import StudyError
from ratings.storage.blind_study import open_blind_study
from ratings.storage.database import connect, database_address
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.study_folder import open_study

UNC = PureWindowsPath(r"\\server\tyre share\study.sqlite")


@pytest.mark.parametrize(
    ("path", "address"),
    [
        (
            PurePosixPath("/home/100% #1?/study.sqlite"),
            "file:///home/100%25%20%231%3F/study.sqlite",
        ),
        (PureWindowsPath(r"C:\week 31\study.sqlite"), "file:///C:/week%2031/study.sqlite"),
        (UNC, "file:////server/tyre%20share/study.sqlite"),
    ],
)
def test_that_an_address_names_the_file_and_no_server(path, address):
    assert database_address(path, "rw") == f"{address}?mode=rw"


def test_that_sqlite_takes_the_address_of_a_network_folder_for_a_file():
    # The address by the book names a server, which SQLite refuses before it looks for the file.
    with pytest.raises(sqlite3.OperationalError, match="invalid uri authority"):
        sqlite3.connect(f"{UNC.as_uri()}?mode=rw", uri=True)
    with pytest.raises(sqlite3.OperationalError, match="unable to open database file"):
        sqlite3.connect(database_address(UNC, "rw"), uri=True)


def test_that_an_entry_is_on_the_disk_when_it_is_kept_and_rows_hold_together(tmp_path):
    # Numbers of "PRAGMA synchronous" (sqlite.org/pragma.html): 2 FULL, 3 EXTRA.
    study = small_study(tmp_path)
    with study.writing() as connection:
        settings = [
            connection.exec_driver_sql(f"PRAGMA {name}").scalar_one()
            for name in ("synchronous", "foreign_keys", "journal_mode")
        ]
    assert settings == [3, 1, "delete"]
    study.close()


def test_that_a_missing_file_is_made_for_a_new_study_only(tmp_path):
    engine = connect(tmp_path / "study.sqlite")
    with pytest.raises(OperationalError, match="unable to open database file"):
        engine.connect()
    assert not list(tmp_path.iterdir())
    engine = connect(tmp_path / "study.sqlite", may_be_new=True)
    with engine.connect() as connection:
        connection.exec_driver_sql("CREATE TABLE made (here INTEGER)")
        connection.commit()
    engine.dispose()
    assert [path.name for path in tmp_path.iterdir()] == ["study.sqlite"]


def test_that_three_raters_and_a_lead_at_once_refuse_nobody(tmp_path):
    made = small_study(tmp_path, evaluators=("Ada", "Bo", "Cy"))
    seats = session_seats(made)
    start = Barrier(4)
    values = [1 + step / 4 for step in range(20)]

    def rate(session_id):
        study = open_study(made.folder.path)
        desk = ListeningDesk(study, session_id)
        pair_id = desk.pairs[0].pair_id
        start.wait()
        hear_both(desk, pair_id)
        for value in values:
            desk.record_scores(pair_id, "boom", {"A": value})
        study.close()

    def lead():
        study = open_study(made.folder.path)
        start.wait()
        for number in range(5):
            LeadDesk(study, Clock()).seat(f"late {number}")
            LeadDesk(study).score_table()
        study.close()

    with ThreadPoolExecutor(4) as pool:
        work = [pool.submit(rate, seat.session_id) for seat in seats] + [pool.submit(lead)]
        for piece in work:
            piece.result()
    rows = sqlite3.connect(made.folder.database).execute(
        "SELECT session_id, value FROM score JOIN pair USING (pair_id) ORDER BY score_id"
    )
    kept = {seat.session_id: [] for seat in seats}
    for session_id, value in rows:
        kept[session_id].append(value)
    assert kept == {seat.session_id: values for seat in seats}
    assert len(session_seats(made)) == 3 + 5
    made.close()


def test_that_somebody_who_writes_keeps_nobody_from_reading(tmp_path):
    study = small_study(tmp_path)
    other = open_study(study.folder.path)
    with study.writing():
        assert len(session_seats(other)) == 2
    study.close()
    other.close()


@pytest.mark.skipif(os.name != "posix", reason="an open file cannot be moved on this system")
@pytest.mark.parametrize("is_folder", [True, False])
def test_that_a_study_moved_while_open_is_told_and_open_in_its_new_place(tmp_path, is_folder):
    study = small_study(tmp_path)
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    pair_id = desk.pairs[0].pair_id
    hear_both(desk, pair_id)
    old, new = study.folder.path, tmp_path / "moved"
    if is_folder:
        old.rename(new)
    else:
        new.mkdir()
        study.folder.database.rename(new / "study.sqlite")
    with pytest.raises(StudyError, match="was moved or taken away while it was open") as refusal:
        desk.record_scores(pair_id, "boom", {"A": 5.0})
    assert "new place" in refusal.value.what_to_do
    # A new connection neither finds the file nor makes an empty one in its place.
    study.engine.dispose()
    with pytest.raises(StudyError, match="missing or closed to you"):
        desk.answers()
    assert not study.folder.database.exists()
    moved = open_study(new) if is_folder else open_blind_study(new)
    assert ListeningDesk(moved, desk.session_id).answers()[pair_id].heard == {"A", "B"}
    moved.close()
