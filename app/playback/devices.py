"""The output devices that PortAudio finds."""

from dataclasses import dataclass

import sounddevice

from app.playback.pair import CHANNELS


@dataclass(frozen=True, slots=True)
class FoundDevice:
    """An output with at least two channels.

    Attributes
    ----------
    number
        PortAudio's.
    name
        As it is listed, each once.
    identity
        Sound system and full name, which stay the same whatever else is plugged in.
    """

    number: int
    name: str
    identity: str
    is_default: bool


def look_again() -> None:
    """Start PortAudio anew, so that a device that came back is found; no stream may be open."""
    # PortAudio lists devices once, when it starts; sounddevice has no public way to restart it.
    sounddevice._terminate()
    sounddevice._initialize()


def found_devices() -> list[FoundDevice]:
    """List the outputs in PortAudio's order."""
    systems = sounddevice.query_hostapis()
    default = _default_number(systems)
    found: list[FoundDevice] = []
    for number, facts in enumerate(sounddevice.query_devices()):
        if facts["max_output_channels"] < CHANNELS:
            continue
        name, system = facts["name"], systems[facts["hostapi"]]["name"]
        identity = f"{system}: {name}"
        if any(device.name == name for device in found):
            # The same card is often offered by several sound systems of one computer.
            name = f"{name} ({system})"
        found.append(FoundDevice(number, name, identity, number == default))
    return found


def device_named(name: str | None) -> FoundDevice | None:
    """Find the device of this name, or the default one for None; None when there is none."""
    for device in found_devices():
        if device.name == name or (name is None and device.is_default):
            return device
    return None


def _default_number(systems: tuple[dict[str, int], ...]) -> int:
    numbers = [system["default_output_device"] for system in systems]
    return next((number for number in numbers if number >= 0), -1)
