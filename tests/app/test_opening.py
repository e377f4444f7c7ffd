import shutil

import pytest
from studies import small_study

from app import opening
from ratings.errors import StudyError
from ratings.storage.listening_desk import session_seats
from ratings.storage.mending import missing_clips


def quiet(_part, _words):
    pass


def test_that_the_sample_study_opens_with_all_its_clips_and_stays_untouched(tmp_path, monkeypatch):
    monkeypatch.setattr(opening, "studies_folder", lambda: tmp_path)
    before = (opening.SAMPLE / "study.sqlite").read_bytes()
    study = opening.opened(None, quiet)
    assert study.facts.is_invented
    assert missing_clips(study) == ()
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


def test_that_a_broken_off_copy_is_made_anew(tmp_path, monkeypatch):
    monkeypatch.setattr(opening, "studies_folder", lambda: tmp_path)
    half = tmp_path / ".Alder wagon (sample).half"
    half.mkdir()
    (half / "study.sqlite").write_bytes(b"half")
    copy = opening.sample_copy()
    assert (copy / "study.sqlite").read_bytes() == (opening.SAMPLE / "study.sqlite").read_bytes()
    assert not half.exists()


def test_that_an_installation_without_the_sample_says_so(tmp_path, monkeypatch):
    monkeypatch.setattr(opening, "SAMPLE", tmp_path / "nowhere")
    with pytest.raises(StudyError, match="not part of this installation"):
        opening.sample_copy(tmp_path / "copy")


def test_that_a_study_whose_sound_is_gone_is_closed_again_with_a_sentence(tmp_path):
    study = small_study(tmp_path)
    study.close()
    shutil.rmtree(study.folder.clips)
    shutil.rmtree(study.folder.recordings)
    with pytest.raises(StudyError, match="misses clip"):
        opening.opened(study.folder.path, quiet)
    # Nothing holds the file any more: it can be moved, also where open files cannot be.
    study.folder.path.rename(tmp_path / "moved")
