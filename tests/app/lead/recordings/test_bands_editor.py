"""The keys go through the rows of bands from above to below, and to the foot behind them."""

from PySide6.QtWidgets import QLineEdit

from app.lead.recordings.bands_editor import BandsEditor, BandsPresenter
from ratings.study.bands import DEFAULT_BANDS


def test_that_tab_goes_through_the_rows_and_then_to_the_foot(qtbot, qapp):
    presenter = BandsPresenter()
    editor = BandsEditor(presenter)
    qtbot.addWidget(editor)
    presenter.begin(DEFAULT_BANDS)
    presenter.add()
    editor.show()
    qtbot.waitExposed(editor)
    editor.activateWindow()
    editor.names[0].setFocus()
    seen = []
    while editor.focusWidget() is not editor.keep and len(seen) < 100:
        seen.append(editor.focusWidget())
        editor.focusNextChild()
    assert [each for each in seen if each in editor.names] == editor.names
    fields = [place for place, each in enumerate(seen) if isinstance(each, QLineEdit)]
    assert fields[-1] < seen.index(editor.add) < seen.index(editor.back)
    assert len(seen) < 100
