import os
import re
from pathlib import Path

import pytest
from PySide6.QtCore import QStandardPaths
from PySide6.QtWidgets import QFileDialog, QWidget

import app
from app.parts import file_asking
from app.parts.file_asking import FilePurpose, ask_folder, ask_path, ask_recordings


@pytest.fixture
def documents(tmp_path, monkeypatch):
    """A person's documents, beside the folder that the program was started in."""
    folder = tmp_path / "documents"
    folder.mkdir()
    monkeypatch.setattr(QStandardPaths, "writableLocation", lambda _kind: str(folder))
    monkeypatch.setattr(file_asking, "_used", [])
    monkeypatch.chdir(tmp_path)
    return folder


@pytest.fixture
def dialogs(monkeypatch):
    """Answer every dialog, and keep where it began."""
    began, answers = [], []

    def answer(dialog):
        began.append(Path(dialog.directory().absolutePath()))
        chosen = answers.pop(0) if answers else None
        if chosen is None:
            return 0
        dialog.setDirectory(str(chosen.parent))
        dialog.selectFile(str(chosen))
        return 1

    monkeypatch.setattr(QFileDialog, "exec", answer)
    return began, answers


SAVE = FilePurpose("Save", "table", "csv", "week.csv", is_saving=True)


@pytest.mark.parametrize(
    "ask",
    [
        lambda parent: ask_path(parent, SAVE),
        lambda parent: ask_path(parent, FilePurpose("Choose", "", "*")),
        ask_recordings,
        lambda parent: ask_folder(parent, "Choose"),
    ],
)
def test_that_every_dialog_begins_in_the_documents(qtbot, light, documents, dialogs, ask):
    parent = QWidget()
    qtbot.addWidget(parent)
    assert not ask(parent)
    assert dialogs[0] == [documents]
    assert documents != Path(os.getcwd())  # noqa: PTH109  # what is meant is the process's own


def test_that_the_folder_used_last_is_offered_next(qtbot, light, documents, dialogs, tmp_path):
    began, answers = dialogs
    parent = QWidget()
    qtbot.addWidget(parent)
    week = tmp_path / "week 31"
    week.mkdir()
    (week / "run.wav").write_bytes(b"")
    answers.append(week / "run.wav")
    assert ask_recordings(parent) == [week / "run.wav"]
    assert ask_path(parent, SAVE) is None
    assert began == [documents, week]
    (week / "run.wav").unlink()
    week.rmdir()
    assert ask_path(parent, SAVE) is None
    assert began[-1] == documents


def test_that_no_page_asks_for_files_past_the_one_helper():
    sources = list(Path(app.__file__).parent.rglob("*.py"))
    asking = [s.name for s in sources if re.search(r"\bQFileDialog\b", s.read_text("utf-8"))]
    assert asking == ["file_asking.py"]
