"""What a listening session, and the brief before it, need of the player."""

from typing import Protocol

from PySide6.QtCore import SignalInstance

from app.playback.keeper import OutputDevice
from app.playback.pair import LoadedPair
from app.playback.player import Coverage
from ratings.errors import RatingsError
from ratings.study.listening import Side


class PairPlayer(Protocol):
    """What a session needs of the player."""

    state_changed: SignalInstance
    moved: SignalInstance
    heard_changed: SignalInstance
    trouble_raised: SignalInstance
    trouble_cleared: SignalInstance

    @property
    def side(self) -> Side: ...  # noqa: D102
    @property
    def is_playing(self) -> bool: ...  # noqa: D102
    @property
    def is_looping(self) -> bool: ...  # noqa: D102
    @property
    def is_rising(self) -> bool: ...  # noqa: D102
    @property
    def position_s(self) -> float: ...  # noqa: D102
    @property
    def duration_s(self) -> float: ...  # noqa: D102
    @property
    def trouble(self) -> RatingsError | None: ...  # noqa: D102
    def load(self, pair: LoadedPair) -> None: ...  # noqa: D102
    def unload(self) -> None: ...  # noqa: D102
    def rise_slowly(self) -> None: ...  # noqa: D102
    def play(self) -> None: ...  # noqa: D102
    def pause(self) -> None: ...  # noqa: D102
    def toggle_play(self) -> None: ...  # noqa: D102
    def switch(self) -> None: ...  # noqa: D102
    def switch_to(self, side: Side) -> None: ...  # noqa: D102
    def seek(self, seconds: float) -> None: ...  # noqa: D102
    def set_looping(self, is_looping: bool) -> None: ...  # noqa: D102
    def coverage(self, side: Side) -> Coverage: ...  # noqa: D102
    def played_s(self, side: Side) -> float: ...  # noqa: D102


class TrialPlayer(Protocol):
    """What the brief needs of the player."""

    state_changed: SignalInstance
    moved: SignalInstance
    devices_changed: SignalInstance
    device_opened: SignalInstance
    trouble_raised: SignalInstance
    trouble_cleared: SignalInstance

    @property
    def trouble(self) -> RatingsError | None: ...  # noqa: D102
    @property
    def is_playing(self) -> bool: ...  # noqa: D102
    @property
    def device_identity(self) -> str: ...  # noqa: D102
    def devices(self) -> list[OutputDevice]: ...  # noqa: D102
    def refresh_devices(self) -> None: ...  # noqa: D102
    def use_device(self, name: str | None) -> None: ...  # noqa: D102
    def hold_to_device(self) -> None: ...  # noqa: D102
    def rise_slowly(self) -> None: ...  # noqa: D102
    def load(self, pair: LoadedPair) -> None: ...  # noqa: D102
    def unload(self) -> None: ...  # noqa: D102
    def play(self) -> None: ...  # noqa: D102
    def set_gain(self, gain: float) -> None: ...  # noqa: D102
    def set_looping(self, is_looping: bool) -> None: ...  # noqa: D102
    def coverage(self, side: Side) -> Coverage: ...  # noqa: D102
