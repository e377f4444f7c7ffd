"""The theme in force: put on the program, kept in step with the system, read by all that draws."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Literal

from PySide6.QtCore import QCoreApplication, QObject, Qt, Signal
from PySide6.QtWidgets import QApplication

from app.parts.fonts import font
from app.parts.style_sheet import palette, style_sheet
from ratings.reports.colours import DARK, LIGHT, Theme, contrast_ratio
from ratings.study.listening import Side

__all__ = [
    "DARK",
    "LIGHT",
    "Side",
    "Theme",
    "ThemeKeeper",
    "ThemeMode",
    "apply_theme",
    "contrast_ratio",
    "current_theme",
    "drawing_in",
    "theme_keeper",
]

ThemeMode = Literal["system", "light", "dark"]

_SCHEMES = {
    "system": Qt.ColorScheme.Unknown,
    "light": Qt.ColorScheme.Light,
    "dark": Qt.ColorScheme.Dark,
}


class ThemeKeeper(QObject):
    """Holds the theme of the running program and follows the system's colours.

    Widgets repaint by themselves when the theme changes; plots and pictures that are kept listen.

    Signals
    -------
    theme_changed(str)
        The name of the theme that now holds, ``light`` or ``dark``.
    """

    theme_changed = Signal(str)

    def __init__(self, app: QApplication) -> None:
        super().__init__(app)
        self._app = app
        self._mode: ThemeMode = "system"
        self.theme = LIGHT
        app.styleHints().colorSchemeChanged.connect(self._follow)

    def put_on(self, mode: ThemeMode) -> None:
        """Draw the program light, dark, or as the system says."""
        self._mode = mode
        # The window's own frame and the system's dialogs follow this one.
        self._app.styleHints().setColorScheme(_SCHEMES[mode])
        if mode == "system":
            self._wear(self._app.styleHints().colorScheme())
        else:
            self._wear(_SCHEMES[mode])

    def _follow(self, scheme: Qt.ColorScheme) -> None:
        if self._mode == "system":
            self._wear(scheme)

    def _wear(self, scheme: Qt.ColorScheme) -> None:
        before = self.theme
        self.theme = DARK if scheme == Qt.ColorScheme.Dark else LIGHT
        self._app.setFont(font("body"))
        self._app.setPalette(palette(self.theme))
        self._app.setStyleSheet(style_sheet(self.theme))
        if self.theme is not before:
            self.theme_changed.emit(self.theme.name)


def theme_keeper() -> ThemeKeeper | None:
    """Give the keeper of the running program, or None before the first `apply_theme`."""
    app = QCoreApplication.instance()
    if app is None:
        return None
    only_own = Qt.FindChildOption.FindDirectChildrenOnly
    found: ThemeKeeper | None = app.findChild(ThemeKeeper, options=only_own)
    return found


#: Themes that what is drawn aside wears, the innermost last.
_aside: list[Theme] = []


@contextmanager
def drawing_in(theme: Theme) -> Iterator[None]:
    """Let all that is made and painted inside wear a theme, whatever the window wears.

    Nothing inside may turn to Qt's events: the window would repaint in these colours.
    """
    _aside.append(theme)
    try:
        yield
    finally:
        _aside.pop()


def current_theme() -> Theme:
    """Give the theme in force: read it each time something is painted."""
    if _aside:
        return _aside[-1]
    keeper = theme_keeper()
    return LIGHT if keeper is None else keeper.theme


def apply_theme(app: QApplication, mode: ThemeMode = "system") -> ThemeKeeper:
    """Put palette, style sheet and fonts on the program.

    Parameters
    ----------
    app
        The running program.
    mode
        ``light``, ``dark``, or ``system`` to follow what the system says from now on.
    """
    keeper = theme_keeper()
    if keeper is None:
        # One style on every system, so that the sheet and the palette are all that is seen.
        app.setStyle("Fusion")
        keeper = ThemeKeeper(app)
    keeper.put_on(mode)
    return keeper
