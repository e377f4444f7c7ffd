"""What a workplace remembers between starts, each with its type."""

import json
import math

from PySide6.QtCore import QSettings

from app.parts.theme import ThemeMode
from ratings.study.constants import REFERENCE_PRESSURE_PA

#: As many studies as are remembered for the doors.
MOST_RECENT = 5


class Settings:
    """Typed access to the stored preferences of this workplace."""

    def __init__(self, store: QSettings | None = None) -> None:
        self._store = QSettings("Twinset", "Twinset") if store is None else store

    @property
    def theme_mode(self) -> ThemeMode:
        """Light, dark, or as the system says."""
        match self._text("theme"):
            case "light":
                return "light"
            case "dark":
                return "dark"
        return "system"

    @theme_mode.setter
    def theme_mode(self, mode: ThemeMode) -> None:
        self._store.setValue("theme", mode)

    @property
    def device_name(self) -> str | None:
        """The chosen sound device; None for the system's default."""
        return self._text("device") or None

    @device_name.setter
    def device_name(self, name: str | None) -> None:
        self._store.setValue("device", name or "")

    def full_scale_sine_db(self, device_identity: str) -> float | None:
        """Sound pressure level at the ear of a full-scale sine on a device, in dB.

        None when it was not measured: each device has a level of its own, and "the default one" has
        none, for it is another one tomorrow.
        """
        text = self._text(_level_key(device_identity))
        try:
            level_db = float(text)
        except ValueError:
            return None
        return level_db if math.isfinite(level_db) else None

    def set_full_scale_sine_db(self, device_identity: str, level_db: float | None) -> None:
        """Keep what was measured on a device; None takes it back."""
        self._store.setValue(_level_key(device_identity), "" if level_db is None else str(level_db))

    @property
    def last_study(self) -> str:
        """The folder of the study that was open last; empty at the first start."""
        path = self._text("last_study")
        return path if _can_be_a_path(path) else ""

    @last_study.setter
    def last_study(self, path: str) -> None:
        self._store.setValue("last_study", path)

    @property
    def recent_studies(self) -> tuple[str, ...]:
        """Folders of the studies that were open lately, the latest first."""
        try:
            listed = json.loads(self._text("recent_studies") or "[]")
        except ValueError:
            return ()
        paths = listed if isinstance(listed, list) else []
        return tuple(path for path in paths if isinstance(path, str) and _can_be_a_path(path))

    def remember_study(self, path: str) -> None:
        """Put a study at the head of those that were open lately."""
        self._keep_recent(path, *(p for p in self.recent_studies if p != path))

    def forget_study(self, path: str) -> None:
        """Take a study off the list of those that were open lately."""
        self._keep_recent(*(p for p in self.recent_studies if p != path))

    def _keep_recent(self, *paths: str) -> None:
        self._store.setValue("recent_studies", json.dumps(paths[:MOST_RECENT]))

    def _text(self, key: str) -> str:
        try:
            return str(self._store.value(key, "", type=str))
        except (TypeError, ValueError):
            # Bytes that are no text; a damaged value counts as none.
            return ""


def _can_be_a_path(text: str) -> bool:
    return "\0" not in text


def output_pa_per_full_scale(full_scale_sine_db: float) -> float:
    """Give the pascal at the ear of a sample of 1.0, from the level of a full-scale sine in dB."""
    # A sine that reaches 1.0 has an rms of 1 / sqrt(2).
    return REFERENCE_PRESSURE_PA * math.sqrt(2) * float(10 ** (full_scale_sine_db / 20))


def _level_key(device_identity: str) -> str:
    # A slash would make a group of its own.
    return "full_scale_sine_db_of/" + device_identity.replace("/", "|")
