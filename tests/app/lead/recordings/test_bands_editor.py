"""The keys go through the rows of bands from above to below, and to the foot behind them."""

from PySide6.QtWidgets import QPushButton, QWidget

from app.lead.recordings.bands_editor import BandsEditor, BandsPresenter
from ratings.study.bands import DEFAULT_BANDS


def test_that_tab_goes_through_the_rows_and_then_to_the_foot(qtbot):
    window, presenter = QWidget(), BandsPresenter()
    qtbot.addWidget(window)
    rail = QPushButton("rail", window)
    editor = BandsEditor(presenter, window)
    presenter.begin(DEFAULT_BANDS)
    presenter.add()
    chain, widget = [], rail.nextInFocusChain()
    while widget is not rail:
        chain.append(widget)
        widget = widget.nextInFocusChain()
    places = [chain.index(each) for each in (*editor.names, editor.add, editor.back, editor.keep)]
    assert places == sorted(places)
