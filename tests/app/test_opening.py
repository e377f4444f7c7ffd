import errno
import os
import shutil
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from studies import hear_both, nth, small_study
from study_damage import patched

from app import opening
from ratings.errors import Cancelled, StudyError
from ratings.reports.agreement_page import write_agreement_page
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.mending import missing_codes
from ratings.storage.seat_desk import SeatDesk
from ratings.storage.seating import SPARE_SESSIONS


def quiet(_part, _words):
    pass


@pytest.mark.slow
def test_that_the_sample_study_opens_with_all_its_clips_and_stays_untouched(tmp_path, monkeypatch):
    monkeypatch.setattr(opening, "studies_folder", lambda: tmp_path)
    before = (opening.SAMPLE / "study.sqlite").read_bytes()
    result = opening.opened(None, quiet)
    study = result.study
    assert result.notice is None
    assert study.facts.is_invented
    assert missing_codes(study) == ()
    assert [seat.pair_count for seat in session_seats(study)] == [11] * 7
    assert (study.folder.path.parent, study.folder.path.exists()) == (tmp_path, True)
    assert (opening.SAMPLE / "study.sqlite").read_bytes() == before
    assert not (opening.SAMPLE / "clips").exists()
    study.close()


def test_that_a_copy_made_before_is_opened_again_with_its_scores(tmp_path, monkeypatch):
    monkeypatch.setattr(opening, "studies_folder", lambda: tmp_path)
    first = opening.sample_copy()
    (first / "mine.txt").write_text("kept")
    assert opening.sample_copy() == first
    assert (first / "mine.txt").read_text() == "kept"


def test_that_two_windows_at_the_first_start_share_one_copy(tmp_path, monkeypatch):
    monkeypatch.setattr(opening, "studies_folder", lambda: tmp_path)
    start = Barrier(4)

    def first_start(_):
        start.wait()
        return opening.sample_copy()

    with ThreadPoolExecutor(4) as pool:
        (copy,) = set(pool.map(first_start, range(4)))
    assert list(tmp_path.iterdir()) == [copy]
    whole = {path.relative_to(opening.SAMPLE) for path in opening.SAMPLE.rglob("*")}
    assert {path.relative_to(copy) for path in copy.rglob("*")} == whole


def test_that_a_copy_that_breaks_off_leaves_nothing_and_says_why(tmp_path, monkeypatch):
    def full(_source, target, **_ways):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), target)

    monkeypatch.setattr(opening, "studies_folder", lambda: tmp_path)
    with monkeypatch.context() as patch:
        patch.setattr(shutil.copytree, "__defaults__", (False, None, full, False, False))
        with pytest.raises(StudyError) as refusal:
            opening.sample_copy()
    assert refusal.value.what_happened.endswith(f": {os.strerror(errno.ENOSPC).lower()}.")
    assert not list(tmp_path.iterdir())
    copy = opening.sample_copy()
    assert (copy / "study.sqlite").read_bytes() == (opening.SAMPLE / "study.sqlite").read_bytes()


def test_that_an_installation_without_the_sample_says_so(tmp_path, monkeypatch):
    monkeypatch.setattr(opening, "SAMPLE", tmp_path / "nowhere")
    with pytest.raises(StudyError, match="not part of this installation"):
        opening.sample_copy(tmp_path / "copy")


def test_that_a_study_whose_sound_is_gone_opens_with_a_sentence(tmp_path):
    study = small_study(tmp_path)
    study.close()
    shutil.rmtree(study.folder.clips)
    shutil.rmtree(study.folder.recordings)
    result = opening.opened(study.folder.path, quiet)
    assert "misses clip" in str(result.notice)
    assert [seat.pair_count for seat in session_seats(result.study)] == [3, 3]
    result.study.close()


def test_that_a_cancelled_opening_lets_go_of_the_study(tmp_path):
    def stop(_part, words):
        if words.startswith("Cutting"):
            raise Cancelled

    study = small_study(tmp_path)
    study.close()
    shutil.rmtree(study.folder.clips)
    with pytest.raises(Cancelled):
        opening.opened(study.folder.path, stop)
    # Nothing holds the file any more: it can be moved, also where open files cannot be.
    study.folder.path.rename(tmp_path / "moved")


def test_that_a_seat_opens_and_takes_people_while_the_lead_s_folder_is_away(tmp_path):
    study = small_study(tmp_path)
    study.close()
    shutil.rmtree(study.folder.lead)
    result = opening.opened(study.folder.path, quiet)
    assert result.notice is None
    opening.prepare_seats(result.study)
    SeatDesk(result.study).seat("Cy")
    assert [seat.evaluator.name for seat in session_seats(result.study)] == ["Ada", "Bo", "Cy"]
    clip = next(study.folder.clips.iterdir())
    clip.unlink()
    again = opening.opened(study.folder.path, quiet)
    # A seat knows nothing of the lead's files: it is told whom to ask.
    assert again.notice.what_happened == "A sound of this study is missing or damaged."
    assert "lead.sqlite" not in str(again.notice)
    with pytest.raises(StudyError, match="is missing or damaged"):
        opening.mend_clip(study.folder.path, clip.stem)
    for each in (result, again):
        each.study.close()


def test_that_more_sessions_are_prepared_before_none_is_left(tmp_path):
    study = small_study(tmp_path)
    study.close()
    result = opening.opened(study.folder.path, quiet)
    seats = SeatDesk(result.study)
    for number in range(SPARE_SESSIONS):
        seats.seat(f"guest {number}")
    with pytest.raises(StudyError, match="that lay ready is taken"):
        seats.seat("one too many")
    opening.prepare_seats(result.study)
    seats.seat("the last")
    assert len(session_seats(result.study)) == 2 + SPARE_SESSIONS + 1
    result.study.close()


def test_that_a_study_whose_scores_were_changed_opens_with_a_sentence_and_is_not_reported(tmp_path):
    study = small_study(tmp_path)
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    hear_both(desk, desk.pairs[0].pair_id)
    desk.record_scores(desk.pairs[0].pair_id, "boom", {"A": 7.0, "B": 6.0})
    study.close()
    patched(study.folder.database, f"UPDATE score SET value = 8 WHERE score_id = {nth('score')}")
    result = opening.opened(study.folder.path, quiet)
    assert "Score 1 was changed" in result.notice.what_happened
    assert "All other answers match" in result.notice.what_to_do
    result.study.close()
    with pytest.raises(StudyError, match="Score 1 was changed"):
        write_agreement_page(study.folder.path, tmp_path / "page.html")
    assert not (tmp_path / "page.html").exists()
