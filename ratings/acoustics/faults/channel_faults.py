"""What a run's signal suffers from, channel by channel and between channels."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Occurrences:
    """How often something happened, when it first did, and when it last ended.

    Times are None when it never did, `end_s` also where it is not followed.
    """

    count: int = 0
    first_s: float | None = None
    end_s: float | None = None


@dataclass(frozen=True, slots=True)
class Hum:
    """Lines of the mains in a channel.

    Attributes
    ----------
    mains_hz
        50 or 60.
    harmonics
        Multiples of the mains frequency that stand out, 1 for the mains frequency itself.
    prominence_db
        How far the highest of them stands above its neighbours.
    """

    mains_hz: float
    harmonics: tuple[int, ...]
    prominence_db: float


@dataclass(frozen=True, slots=True)
class GainStep:
    """A sudden change of the level at all frequencies alike, to `change_db` from `time_s` on."""

    time_s: float
    change_db: float


@dataclass(frozen=True, slots=True)
class ChannelFaults:
    """What was found in one channel.

    Attributes
    ----------
    is_silent
        Whether nothing but one value, or the last digit, was recorded, or less than 100 dB below
        full scale. Everything else is then empty.
    full_scale_samples
        Samples at full scale; a single one may be chance. 0 where full scale is not known.
    clipping
        Stretches of three or more equal samples at full scale; or below it, at the channel's own
        extreme, with a corner where a smooth peak would be round, if there are three of them.
    drop_outs
        Stretches of 5 ms or more of one exact value between live signal on both sides.
    clicks
        Jumps of one or two samples that no sound makes.
    offset_ratio
        Mean divided by the rms of the rest; 0 for a silent channel.
    hum
        None when there is none, or the run is too short to tell (`RunFaults.is_hum_judged`).
    gain_step
        The largest, None when there is none.
    """

    is_silent: bool
    full_scale_samples: int
    clipping: Occurrences
    drop_outs: Occurrences
    clicks: Occurrences
    offset_ratio: float
    hum: Hum | None
    gain_step: GainStep | None


@dataclass(frozen=True, slots=True)
class RunFaults:
    """What was found in a run; channels are counted from 0.

    Attributes
    ----------
    channels
        One entry for each channel.
    same_channels
        Pairs that hold the same signal, at whatever gain.
    opposite_channels
        Pairs of opposite polarity: the same signal upside down, or opposite in what lies under
        about 50 Hz, where the pressure in a cabin is in phase.
    inverted_channels
        Channels opposite to most of the others.
    is_hum_judged
        Whether the run is long enough to find hum.
    """

    duration_s: float
    channels: tuple[ChannelFaults, ...]
    same_channels: tuple[tuple[int, int], ...]
    opposite_channels: tuple[tuple[int, int], ...]
    inverted_channels: tuple[int, ...]
    is_hum_judged: bool
