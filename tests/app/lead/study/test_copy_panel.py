from lead_pages import LEFT

from app.lead.study.copy_saving import CopySaving
from app.lead.study.page import CopyPanel
from ratings.storage.study_folder import open_study


def panel_on(qtbot, study, folder):
    saving = CopySaving(study)
    panel = CopyPanel(saving, lambda _parent, _start: folder)
    saving.setParent(panel)
    qtbot.addWidget(panel)
    panel.show()
    return panel


def test_that_one_press_saves_a_checked_copy_named_by_study_and_day(qtbot, empty_study, tmp_path):
    place = tmp_path / "another disk"
    place.mkdir()
    panel = panel_on(qtbot, empty_study, place)
    for _ in range(2):
        qtbot.mouseClick(panel.save, LEFT)
        assert not panel.save.isEnabled()
        assert panel.cancel.isVisible()
        qtbot.waitUntil(panel.save.isEnabled, timeout=20_000)
        assert "Saved and checked: study 20" in panel.words.text()
    copies = sorted(place.iterdir())
    assert len(copies) == 2
    for copy in copies:
        assert copy.name.startswith("study 20")
        open_study(copy).close()


def test_that_a_copy_can_be_cancelled_and_that_nothing_is_left(qtbot, empty_study, tmp_path):
    place = tmp_path / "another disk"
    place.mkdir()
    panel = panel_on(qtbot, empty_study, place)
    qtbot.mouseClick(panel.save, LEFT)
    qtbot.mouseClick(panel.cancel, LEFT)
    qtbot.waitUntil(panel.save.isEnabled, timeout=20_000)
    assert "nothing was kept" in panel.words.text()
    assert list(place.iterdir()) == []


def test_that_a_refusal_is_said_where_the_button_is(qtbot, empty_study):
    panel = panel_on(qtbot, empty_study, empty_study.folder.path)
    qtbot.mouseClick(panel.save, LEFT)
    qtbot.waitUntil(panel.save.isEnabled, timeout=20_000)
    assert "would lie inside of the study" in panel.words.text()


def test_that_nothing_happens_when_no_place_was_chosen(qtbot, empty_study):
    panel = panel_on(qtbot, empty_study, None)
    qtbot.mouseClick(panel.save, LEFT)
    assert panel.save.isEnabled()
    assert not panel.bar.isVisible()
