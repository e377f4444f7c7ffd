"""Where people go in the window: stations, and the rooms behind the doors."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol, TypeVar, runtime_checkable

if TYPE_CHECKING:
    from pathlib import Path

    from PySide6.QtWidgets import QWidget

    from app.playback.player import Player
    from app.settings import Settings
    from ratings.errors import RatingsError
    from ratings.storage.blind_study import BlindStudy


Result = TypeVar("Result")


@dataclass(frozen=True, slots=True)
class State:
    """How things stand at a station: a few words, and whether all is done there."""

    words: str = ""
    is_done: bool = False


@dataclass(frozen=True, slots=True)
class Station:
    """A stop of the job: a door of the start page, or one on the rail behind it.

    Attributes
    ----------
    name
        What it is called wherever it is named.
    state
        Asked each time that the station is shown; of a door, on the worker, and raises RatingsError
        when the study is gone.
    page
        Builds what is shown there. Imports of the page belong inside: a window that opens waits
        for no page that is not in sight. None where it is shown once it was read.
    purpose
        What one does there, for a door.
    """

    name: str
    state: Callable[[], State]
    page: Callable[[], QWidget | None]
    purpose: str = ""

    @property
    def key(self) -> str:
        """The name as one says it in a sentence."""
        return self.name.lower()


@runtime_checkable
class PutsAway(Protocol):
    """A screen with something to stop or keep when another takes its place."""

    def put_away(self) -> None:
        """Let go of it."""


class Shell(Protocol):
    """What the window does for the rooms behind its doors."""

    has_rated: bool
    """Whether somebody has rated here since the program was started."""

    @property
    def settings(self) -> Settings:
        """What is remembered between starts."""

    @property
    def study(self) -> BlindStudy | None:
        """The open study."""

    def window(self) -> QWidget:
        """Return the window itself, to belong to."""

    def open(self, path: Path | None) -> None:
        """Open another study; None for the sample."""

    def the_player(self) -> Player:
        """Return the one player, made when it is first needed."""

    def when_read(self, read: Callable[[], Result], show: Callable[[Result], None]) -> None:
        """Show something once what it shows was read, unless another is wanted meanwhile."""

    def show_screen(self, screen: QWidget | None) -> None:
        """Show a screen in place of the one before; None for the doors."""

    def show_doors(self) -> None:
        """Go back to the doors."""

    def tell_at_the_doors(self, problem: RatingsError) -> None:
        """Go back to the doors, and say there what went wrong."""


class Room:
    """What lies behind a door: its station, and the way from screen to screen inside."""

    station: Station

    def __init__(self, shell: Shell) -> None:
        self.shell = shell

    def at_stake(self) -> str:
        """Say what would be lost if the program ended now; empty when nothing."""
        return ""

    def leave_study(self) -> None:
        """Let go of the study, which is closed."""

    def put_away(self) -> None:
        """Keep what is to be kept: the program ends."""
