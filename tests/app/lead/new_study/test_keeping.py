import json
import os
import signal
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from studies import write_noise

from app.lead.new_study.draft_keeping import DraftKeeper
from app.lead.new_study.presenter import NewStudyPresenter
from ratings.errors import StudyError
from ratings.intake.draft_file import DraftFile, draft_text, read_draft
from ratings.intake.how_recorded import HowRecorded
from ratings.intake.run_draft import CalibrationDraft
from ratings.intake.study_draft import Draft, PlacedFile
from ratings.study.attributes import DEFAULT_ATTRIBUTES, Attribute
from ratings.study.sets import Condition, TyreSet

words = st.text(max_size=12)
numbers = st.floats(allow_nan=False, allow_infinity=False)
# Names of files need not be text: what cannot be told comes as a lone surrogate.
paths = st.text(
    st.one_of(st.characters(exclude_characters="\0"), st.just("\udce4")), min_size=1, max_size=12
).map(lambda name: Path("/of this test") / name)
conditions = st.builds(
    Condition,
    st.just(0),
    words,
    st.sampled_from(["steady", "coast-down"]),
    st.none() | numbers,
    st.none() | numbers,
)
recorded = st.builds(
    HowRecorded,
    st.integers(0, 40),
    st.integers(0, 40),
    st.builds(
        CalibrationDraft,
        st.sampled_from(["kept", "own", "factor", "tones", "unknown"]),
        numbers,
        st.none() | paths,
        st.none() | paths,
        numbers,
    ),
    st.none() | paths,
    st.lists(paths, max_size=3).map(tuple),
)


@st.composite
def drafts(draw):
    draft = Draft(draw(paths), *draw(st.tuples(words, words)))
    for name in draw(st.lists(words, max_size=3)):
        draft = draft.with_set(name)
    for condition in draw(st.lists(conditions, max_size=3)):
        draft = draft.with_condition(condition)
    cells = [(s.set_id, c.condition_id) for s in draft.sets for c in draft.conditions]
    for cell in draw(st.sets(st.sampled_from(cells)) if cells else st.just(set())):
        draft = replace(draft, files=(*draft.files, PlacedFile(cell, draw(paths))))
    if draft.sets and draw(st.booleans()):
        draft = draft.with_control(draw(st.sampled_from(draft.sets)).set_id)
    own = draw(st.builds(Attribute, st.just("own"), words, words, st.none() | numbers))
    text = draw(words)
    return replace(
        draft,
        attributes=(*DEFAULT_ATTRIBUTES, own),
        chosen=frozenset(draw(st.sets(st.sampled_from(["boom", "own", "hiss"])))),
        evaluator_text=text,
        evaluator_count=draw(st.integers(max(1, text.count(",") + 1), 200)),
        recorded=draw(recorded),
        gain_db=draw(st.floats(-60.0, 0.0)),
        accepted=frozenset(draw(st.sets(words, max_size=2))),
    )


@pytest.fixture
def keepers(qapp, tmp_path):
    """All keepers of one folder, the first window's first."""
    made = [DraftKeeper(tmp_path / "data")]
    yield made
    for keeper in made:
        keeper.let_go()


@pytest.fixture
def keeper(keepers):
    return keepers[0]


@pytest.fixture
def full(tmp_path):
    draft = Draft(tmp_path, "Week 31", "Alder wagon").with_set("birch").with_set("maple")
    draft = draft.with_condition(Condition(0, "coarse", "coast-down", 80.0, 40.0)).with_control(1)
    return replace(
        draft.with_file((1, 1), tmp_path / "a.wav"),
        recorded=HowRecorded(0, 1, CalibrationDraft("factor", 20.0), None, (tmp_path / "a.csv",)),
        gain_db=-3.5,
        accepted=frozenset({"a.wav is clipped."}),
    )


def begun_by(keeper, tmp_path):
    return NewStudyPresenter(tmp_path / "out", keeper=keeper)


def next_start(keepers, tmp_path):
    """Give what the program shows after it was ended without a word."""
    keepers[-1]._lease.release()
    keepers.append(DraftKeeper(tmp_path / "data"))
    return begun_by(keepers[-1], tmp_path)


@given(drafts())
def test_that_a_draft_is_read_as_it_was_written(draft):
    assert read_draft(draft_text(draft)) == draft


def test_that_a_file_cut_off_anywhere_is_refused_in_words(full):
    text = draft_text(full)
    for end in range(len(text)):
        with pytest.raises(StudyError, match="is damaged"):
            read_draft(text[:end])


def places(told, way=()):
    """Give the way to each value inside what JSON holds."""
    yield way
    inside = dict(enumerate(told)) if isinstance(told, list) else told
    for key, value in inside.items() if isinstance(inside, dict) else ():
        yield from places(value, (*way, key))


@pytest.mark.parametrize(
    "odd", [None, True, "x\0", -1, 10**400, float("nan"), [], {}, [1, 2, 3], {"format": 1}]
)
def test_that_an_odd_value_anywhere_is_refused_or_one_that_can_be_said(full, odd):
    whole = json.loads(draft_text(full))
    refused = 0
    for way in list(places(whole))[1:]:
        changed = json.loads(json.dumps(whole))
        inside = changed
        for key in way[:-1]:
            inside = inside[key]
        inside[way[-1]] = odd
        try:
            read = read_draft(json.dumps(changed))
        except StudyError:
            refused += 1
        else:
            assert read_draft(draft_text(read)) == read
            assert abs(read.evaluator_count) < 2**31
    assert refused > 10


@pytest.mark.parametrize(
    "change",
    [
        lambda d: replace(d, files=(*d.files, PlacedFile((9, 1), Path("/b.wav")))),
        lambda d: replace(d, files=(*d.files, *d.files)),
        lambda d: replace(d, sets=(*d.sets, TyreSet(1, "twin", is_control=False))),
        lambda d: replace(d, sets=tuple(replace(s, is_control=True) for s in d.sets)),
        lambda d: replace(d, conditions=d.conditions * 2),
        lambda d: replace(d, attributes=d.attributes * 2),
        lambda d: replace(d, evaluator_text="Ann, Bo"),
        lambda d: replace(d, recorded=replace(d.recorded, left_channel=-1)),
        lambda d: replace(d, gain_db=6.0),
    ],
)
def test_that_what_no_window_can_have_said_is_refused(full, change):
    with pytest.raises(StudyError):
        read_draft(draft_text(change(full)))


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b'{"form": 2, "draft": {"unheard": "of"}}', "a newer release"),
        (b"\xff\xfe\x00", "damaged"),
        (b"[" * 100_000, "damaged"),
    ],
)
def test_that_a_file_of_no_use_is_put_aside_and_told(
    qapp, tmp_path, keeper, keepers, content, words
):
    place = tmp_path / "data" / "new_study.json"
    place.parent.mkdir()
    for number in (1, 2):
        place.write_bytes(content)
        presenter = begun_by(keeper, tmp_path)
        assert words in presenter.notice.what_happened
        aside = place.with_suffix(f".unread-{number}.json")
        assert str(aside) in presenter.notice.what_to_do
        assert aside.read_bytes() == content
        assert presenter.draft == Draft(tmp_path / "out")
        keeper.let_go()
    presenter = begun_by(keeper, tmp_path)
    presenter.change(replace(presenter.draft, name="Week 31"))
    assert presenter.at_stake() == ""
    assert next_start(keepers, tmp_path).draft.name == "Week 31"


def test_that_a_draft_comes_back_with_its_files_and_what_was_moved_is_told(
    qtbot, keeper, keepers, tmp_path
):
    presenter = begun_by(keeper, tmp_path)
    files = [write_noise(tmp_path / f"{name}_coarse_80.wav", 1) for name in ("birch", "maple")]
    presenter.put_files(files)
    presenter.change(presenter.draft.with_control(2))
    presenter.change(presenter.draft.with_evaluator_names("Ada, Bo"))
    place = tmp_path / "data" / "new_study.json"
    qtbot.waitUntil(lambda: place.is_file() and read_draft(place.read_text()) == presenter.draft)
    files[0].unlink()
    again = next_start(keepers, tmp_path)
    assert again.draft == presenter.draft
    views = {}

    def are_read():
        views.update((f.path.name, again.review.cell(f.cell)) for f in again.draft.files)
        return all(view.kind != "reading" for view in views.values())

    qtbot.waitUntil(are_read)
    assert views["maple_coarse_80.wav"].kind == "ready"
    assert views["birch_coarse_80.wav"].kind == "refused"


def test_that_a_file_is_gone_once_its_study_was_made_or_the_draft_was_cleared(
    qtbot, keeper, keepers, tmp_path
):
    presenter = begun_by(keeper, tmp_path)
    place = tmp_path / "data" / "new_study.json"
    presenter.change(replace(presenter.draft, name="Week 31"))
    assert keeper.is_kept()
    assert place.is_file()
    presenter.maker.succeeded.emit(tmp_path / "made")
    assert not place.exists()
    presenter.change(replace(presenter.draft, name="Week 32"))
    assert keeper.is_kept()
    presenter.clear()
    assert keeper.is_kept()
    assert not place.exists()
    presenter.put_back()
    assert keeper.is_kept()
    assert next_start(keepers, tmp_path).draft.name == "Week 32"


def test_that_a_late_writing_never_overwrites_a_newer_one(tmp_path):
    file = DraftFile(tmp_path / "new_study.json")
    file.write(Draft(tmp_path, "second"), 2)
    file.write(Draft(tmp_path, "first"), 1)
    assert file.read().name == "second"


def test_that_a_second_window_says_that_it_keeps_nothing(keeper, keepers, tmp_path):
    first = begun_by(keeper, tmp_path)
    first.change(replace(first.draft, name="Week 31"))
    assert first.at_stake() == ""
    keepers.append(DraftKeeper(tmp_path / "data"))
    second = begun_by(keepers[-1], tmp_path)
    assert second.notice.what_happened == "Another window keeps a draft of a new study."
    assert not second.draft.is_begun
    second.change(replace(second.draft, name="Week 32"))
    assert "is being prepared" in second.at_stake()
    first.put_away()
    second.put_away()
    keepers.append(DraftKeeper(tmp_path / "data"))
    assert begun_by(keepers[-1], tmp_path).draft.name == "Week 31"


def test_that_a_disk_that_refuses_is_told_once_and_closing_asks(qtbot, keeper, tmp_path):
    (tmp_path / "data").write_text("no folder")
    presenter = begun_by(keeper, tmp_path)
    told = []
    presenter.problem_raised.connect(told.append)
    presenter.change(replace(presenter.draft, name="Week 31"))
    qtbot.waitUntil(lambda: bool(told))
    assert "cannot be kept on this computer" in told[0].what_happened
    assert "is being prepared" in presenter.at_stake()
    assert len(told) == 1
    (tmp_path / "data").unlink()
    assert presenter.at_stake() == ""


_TYPE = """
import sys
from pathlib import Path
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from app.settings import Settings
from app.window import MainWindow
program = QApplication([])
program.setOrganizationName("Twinset")
program.setApplicationName("Twinset")
window = MainWindow(Settings())
window.show()
window.lead.show_new_study()
print("shown", flush=True)
number = 0
while True:
    window.screen_in_use.fields.vehicle.clear()
    QTest.keyClicks(window.screen_in_use.fields.vehicle, f"Alder wagon {number}")
    QTest.qWait(40)
    number += 1
"""


def number_in(place):
    """Give the number that was typed last; -1 while there is none."""
    vehicle = read_draft(place.read_bytes()).vehicle if place.is_file() else ""
    return int(vehicle.rpartition(" ")[2] or -1)


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="kills by signal")
def test_that_a_killed_program_shows_the_draft_again(qapp, tmp_path):
    surroundings = os.environ | {"HOME": str(tmp_path), "XDG_CONFIG_HOME": str(tmp_path)}
    place = Path(os.environ["XDG_DATA_HOME"]) / "Twinset" / "Twinset" / "new_study.json"
    before = -1
    for _ in range(3):
        process = subprocess.Popen(
            [sys.executable, "-c", _TYPE.replace("number = 0", f"number = {before + 1}")],
            env=surroundings,
            stdout=subprocess.PIPE,
        )
        with process:
            assert process.stdout.readline() == b"shown\n"
            until = time.monotonic() + 30.0
            while number_in(place) <= before and time.monotonic() < until:
                os.sched_yield()
            process.send_signal(signal.SIGKILL)
        keeper = DraftKeeper(place.parent)
        assert keeper.take_up() is not None
        keeper.let_go()
        assert number_in(place) > before
        before = number_in(place)
