import shutil
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from studies import rate_pair, small_study

from ratings.clips.cutting import cut_clip
from ratings.errors import Cancelled, RecordingError, StudyError
from ratings.storage import mending
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.storage.mending import missing_clips, restore_clip, restore_clips
from ratings.storage.study_folder import open_study


@pytest.fixture
def folder(tmp_path):
    study = small_study(tmp_path)
    study.close()
    return study.folder


def test_that_a_clip_that_is_missing_is_cut_again_from_its_recording(folder):
    clip = next(folder.clips.iterdir())
    before = clip.read_bytes()
    clip.unlink()
    study = open_study(folder.path)
    assert [c.code for c in missing_clips(study)] == [clip.stem]
    assert restore_clips(study) == 1
    assert clip.read_bytes() == before


def test_that_a_study_without_clips_and_recordings_says_so_and_keeps_its_scores(folder):
    study = open_study(folder.path)
    desk = ListeningDesk(study, session_seats(study)[0].session_id)
    rate_pair(desk, desk.pairs[0])
    shutil.rmtree(folder.clips)
    shutil.rmtree(folder.recordings)
    count = len(missing_clips(study))
    assert count > 1
    told = rf"{count} of {count} missing clips .* misses clip \d{{6}} and the recording"
    with pytest.raises(StudyError, match=told):
        restore_clips(study)
    assert desk.answers()[desk.pairs[0].pair_id].is_locked


def test_that_an_exchanged_recording_is_noticed_when_a_clip_is_cut_again(folder):
    clip = next(folder.clips.iterdir())
    first, second = sorted(folder.recordings.iterdir())
    first_bytes = first.read_bytes()
    first.write_bytes(second.read_bytes())
    second.write_bytes(first_bytes)
    clip.unlink()
    with pytest.raises(StudyError, match="not the one that was heard before"):
        restore_clips(open_study(folder.path))
    assert not clip.exists()


def test_that_a_clip_that_was_cut_off_is_cut_again_at_opening(folder):
    clip = next(folder.clips.iterdir())
    before = clip.read_bytes()
    clip.write_bytes(before[:-100])
    study = open_study(folder.path)
    assert [c.code for c in missing_clips(study)] == [clip.stem]
    assert restore_clips(study) == 1
    assert clip.read_bytes() == before
    study.close()


def test_that_a_clip_damaged_in_its_middle_is_cut_again_when_asked(folder):
    clip = next(folder.clips.iterdir())
    before = clip.read_bytes()
    clip.write_bytes(before[:5000] + bytes(100) + before[5100:])
    study = open_study(folder.path)
    assert missing_clips(study) == ()
    restore_clip(study, clip.stem)
    assert clip.read_bytes() == before
    study.close()


def test_that_a_clip_that_cannot_be_cut_keeps_no_other_from_it(folder):
    before = {clip.name: clip.read_bytes() for clip in folder.clips.iterdir()}
    study = open_study(folder.path)
    lost = None
    for recording in folder.recordings.iterdir():
        kept = recording.read_bytes()
        recording.unlink()
        shutil.rmtree(folder.clips)
        with pytest.raises(StudyError, match="the recording it was cut from"):
            restore_clips(study)
        missing = {clip.code for clip in missing_clips(study)}
        found = {clip.stem for clip in folder.clips.iterdir()}
        assert missing | found == {name.removesuffix(".wav") for name in before}
        assert missing
        assert found
        for clip in folder.clips.iterdir():
            assert clip.read_bytes() == before[clip.name]
        assert missing != lost
        lost = missing
        recording.write_bytes(kept)
    study.close()


def test_that_a_cancelled_mending_stops_at_once(folder):
    def stop(_part, _words):
        raise Cancelled

    shutil.rmtree(folder.clips)
    study = open_study(folder.path)
    with pytest.raises(Cancelled):
        restore_clips(study, stop)
    assert len(missing_clips(study)) == 6
    study.close()


@pytest.mark.slow
def test_that_two_programs_may_cut_the_same_clips_at_once(folder):
    before = {clip.name: clip.read_bytes() for clip in folder.clips.iterdir()}
    studies = [open_study(folder.path) for _ in range(3)]
    start = Barrier(3)

    def mend(study):
        start.wait()
        restore_clips(study)

    for _ in range(5):
        shutil.rmtree(folder.clips)
        with ThreadPoolExecutor(3) as pool:
            list(pool.map(mend, studies))
        assert {clip.name: clip.read_bytes() for clip in folder.clips.iterdir()} == before
    for study in studies:
        study.close()


def test_that_a_clip_which_another_program_has_cut_meanwhile_is_taken(folder, monkeypatch):
    clip = next(folder.clips.iterdir())
    before = clip.read_bytes()
    clip.unlink()

    def cut_by_another(source, *wanted):
        cut_clip(source, clip, *wanted)
        raise RecordingError("The clip is being played by another program.")

    monkeypatch.setattr(mending, "cut_sound", cut_by_another)
    study = open_study(folder.path)
    assert restore_clips(study) == 1
    assert clip.read_bytes() == before
    study.close()


@pytest.mark.parametrize(
    ("may_write", "advice"), [(True, "Bring back the folder clips"), (False, "open the copy")]
)
def test_that_who_cannot_cut_a_clip_is_told_what_to_do(folder, monkeypatch, may_write, advice):
    def refuse(source, *_wanted):
        raise RecordingError(f"'{source.name}' is read-only.")

    clip = next(folder.clips.iterdir())
    clip.unlink()
    monkeypatch.setattr(mending, "cut_sound", refuse)
    # The tests may run with rights that no file mode takes away, so the question is answered here.
    monkeypatch.setattr("ratings.storage.blind_study.os.access", lambda *_: may_write)
    study = open_study(folder.path)
    with pytest.raises(StudyError, match=f"Clip {clip.stem} of study is missing") as refusal:
        restore_clips(study)
    assert advice in refusal.value.what_to_do
    for recording in folder.recordings.iterdir():
        assert recording.name not in str(refusal.value)
    study.close()
