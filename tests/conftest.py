"""Settings that every test shares."""

import itertools
import os
import sys

import pytest

# Windows are drawn off the screen, so that a test run needs no display and shows nothing.
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

_machines = itertools.count()


@pytest.fixture(autouse=True)
def own_machine(monkeypatch, tmp_path_factory):
    """Keep what the program keeps on a machine apart, test by test; the folder is not made."""
    folder = tmp_path_factory.getbasetemp() / f"machine-{next(_machines)}"
    monkeypatch.setenv("XDG_DATA_HOME", str(folder))


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_runtest_teardown():
    """Let windows that a test has closed go: they would be restyled with every later one."""
    result = yield
    core = sys.modules.get("PySide6.QtCore")
    if core is not None and core.QCoreApplication.instance() is not None:
        core.QCoreApplication.sendPostedEvents(None, core.QEvent.Type.DeferredDelete)
    return result
