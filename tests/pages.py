"""Every page of the real window, one after the other, for tests that look at all of them."""

from collections.abc import Iterator

from brief_player import BriefPlayer
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication

from app.settings import Settings
from app.window import MainWindow

VIEWS = ("runs", "spectrum", "bands", "map", "speed", "figures")


class OpenedWindow(MainWindow):
    """The window on a study, with a player that makes no sound."""

    def __init__(self, folder, qtbot, ini) -> None:
        super().__init__(Settings(QSettings(str(ini), QSettings.Format.IniFormat)))
        self._quiet = BriefPlayer()
        self._bot = qtbot
        qtbot.addWidget(self, before_close_func=lambda window: setattr(window, "_may_close", True))
        with qtbot.waitExposed(self):
            self.show()
        self.activateWindow()
        self.open(folder)
        qtbot.waitUntil(lambda: self.study is not None and not self.opening.is_busy, timeout=20000)

    def the_player(self):
        return self._quiet

    def pages(self, recordings) -> Iterator[str]:
        """Show page after page and give their names; files are put where some are needed."""
        yield from self._evaluator()
        yield from self._lead(recordings)
        yield from self._study_to_be(recordings)

    def settle(self) -> None:
        """Let layouts come to rest."""
        for _ in range(3):
            QApplication.processEvents()

    def _named(self, name) -> Iterator[str]:
        self.settle()
        yield name

    def _evaluator(self) -> Iterator[str]:
        yield from self._named("doors")
        self.evaluator.show_seats()
        yield from self._named("seats")
        from ratings.storage.listening_desk import session_seats

        seat = session_seats(self.study)[0].session_id
        self.evaluator.show_brief(seat)
        yield from self._named("brief")
        self.evaluator.show_session()
        self._bot.waitUntil(lambda: bool(self._quiet.loaded), timeout=20000)
        yield from self._named("session")

    def _lead(self, recordings) -> Iterator[str]:
        self.has_rated = False
        self.lead.show_desk()
        lead = self.screen_in_use
        presenter = lead.recordings.presenter
        self._bot.waitUntil(lambda: presenter.reading is not None, timeout=20000)
        self._bot.waitUntil(lambda: lead.presenter.judged is not None, timeout=20000)
        for station in ("study", "panel", "agreement", "recordings"):
            lead.rail.choose(station)
            yield from self._named(station)
        lead.rail.choose("verdict")
        self._bot.waitUntil(lambda: lead.judging.verdict is not None, timeout=30000)
        yield from self._named("verdict")
        lead.rail.choose("report")
        yield from self._named("report")
        lead.rail.choose("recordings")
        page = lead.recordings.page
        for view in VIEWS:
            page.views.buttons[view].click()
            if view in {"spectrum", "map", "speed"}:
                self._bot.waitUntil(lambda: presenter.curves is not None, timeout=20000)
            yield from self._named(f"recordings, {view}")
        page.show_bands()
        yield from self._named("bands")
        page.show_settings()
        yield from self._settings_of("run settings", page.settings_page.form)
        page.show_bringing()
        lead.recordings.bringing.add_files(recordings)
        self._bot.waitUntil(page.bring_page.form.isEnabled, timeout=20000)
        yield from self._settings_of("bringing", page.bring_page.form.settings)

    def _settings_of(self, name, form) -> Iterator[str]:
        for way in ("factor", "tones"):
            form.calibration.ways[way].click()
            yield from self._named(f"{name}, {way}")
        for way in ("file", "channel", "pulses"):
            form.speed.ways[way].click()
            yield from self._named(f"{name}, {way}")

    def _study_to_be(self, recordings) -> Iterator[str]:
        self.lead.show_new_study()
        page = self.screen_in_use
        yield from self._named("new study")
        page.presenter.put_files(recordings)
        self._bot.waitUntil(lambda: bool(page.presenter.review.facts), timeout=20000)
        yield from self._named("new study, grid")
        page.grid.heads[next(iter(page.grid.heads))].click()
        yield from self._named("new study, condition")
        page.attributes.add.click()
        yield from self._named("new study, attribute")
        page.show_recorded()
        for way in ("factor", "tones"):
            page.recorded.level.ways[way].click()
            yield from self._named(f"new study, {way}")
