"""A draft of a new study, and the page that shows it."""

import pytest
from draft_pages import Dialogs, wait_until_read
from drafts import begun_draft
from studies import write_noise

from app.lead.new_study.page import NewStudyPage
from app.lead.new_study.presenter import NewStudyPresenter


@pytest.fixture
def presenter(qapp, tmp_path):
    """An empty draft."""
    return NewStudyPresenter(tmp_path / "out", draw_seed=lambda: 7)


@pytest.fixture
def recordings(tmp_path):
    """Two sets on one condition."""
    return [
        write_noise(tmp_path / f"{name}_coarse_80.wav", seed)
        for seed, name in enumerate(("maple", "birch"), start=1)
    ]


@pytest.fixture
def begin(qtbot, presenter, tmp_path):
    """Begin with a named study of recordings, and wait until they are read."""

    def begin_(files):
        presenter.put_files(files)
        presenter.change(begun_draft(tmp_path, files))
        wait_until_read(qtbot, presenter)
        return presenter

    return begin_


@pytest.fixture
def begun(begin, recordings):
    """A named study of two good recordings."""
    return begin(recordings)


@pytest.fixture
def dialogs():
    return Dialogs()


@pytest.fixture
def show_page(qtbot, light, dialogs):
    """Show a page of a presenter."""

    def show(presenter):
        page = NewStudyPage(
            *(presenter, dialogs.ask_files, dialogs.ask_folder),
            *(dialogs.ask_path, dialogs.ask_traces),
        )
        qtbot.addWidget(page)
        page.resize(1280, 720)
        with qtbot.waitExposed(page):
            page.show()
        page.activateWindow()
        return page

    return show


@pytest.fixture
def page(show_page, presenter):
    """A page with an empty draft."""
    return show_page(presenter)
