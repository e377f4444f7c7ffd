"""How loudness fades: the nonlinear decay in each band, and the ear's slow sum."""

import numpy as np
import numpy.typing as npt
from scipy.signal import lfilter

STEP_S = 0.0005
"""Time between two values of core loudness (ISO 532-1:2017, clause 6)."""

# Time constants of the decay after short and long sounds, and of the memory that tells them
# apart (ISO 532-1:2017, clause 6).
_SHORT_S, _LONG_S, _MEMORY_S = 0.005, 0.015, 0.075
# Time constants of the low-passes and their shares (clause 6).
_QUICK_S, _SLOW_S, _QUICK_SHARE = 0.0035, 0.070, 0.47
# The standard divides every step by linear interpolation.
_INNER_STEPS = 24

# An earlier state fades by 75 ms at most, so that after this long it is gone to one part in 2e-6.
WARM_UP_STEPS = round(1.0 / STEP_S)
# Segments run side by side until a step handles about this many values: fewer waste the time
# that each call takes, more the warm-ups.
_SIDE_BY_SIDE = 1280
_SHORTEST_SEGMENT_STEPS = 625

# The standard's circuit while it discharges: rates of (output, memory), per second.
_DISCHARGE = np.array(
    [
        [-(1 / _SHORT_S + _LONG_S / (_MEMORY_S * _SHORT_S) - 1 / _MEMORY_S), 0.0],
        [1 / _MEMORY_S, -1 / _MEMORY_S],
    ]
)
_DISCHARGE[0, 1] = -_DISCHARGE[0, 0] - 1 / _SHORT_S
# Far below any loudness; keeps the divisions defined and the numbers normal in digital silence.
_NOTHING = 1e-30


def _exponential(matrix: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    values, vectors = np.linalg.eig(matrix)
    return np.asarray((vectors * np.exp(values)) @ np.linalg.inv(vectors))


def _ramp_weights(time_constant_s: float) -> tuple[float, float, float]:
    """Weights of old state, old input and new input for a low-pass whose input is a ramp."""
    factor = float(np.exp(-STEP_S / _INNER_STEPS / time_constant_s))
    inner = np.arange(1, _INNER_STEPS + 1)
    shares = (1.0 - factor) * factor ** (_INNER_STEPS - inner)
    new = float(shares @ inner) / _INNER_STEPS
    return factor**_INNER_STEPS, float(shares.sum()) - new, new


class NonlinearDecay:
    """Follows a rise at once and fades slowly, slower after long sounds; per band and channel.

    Parameters
    ----------
    bands, channels
        Of the core loudness that will be fed.

    Notes
    -----
    The standard takes 24 inner steps per 0.5 ms. Between its switches these are a linear system
    with a closed form, so one step does; the switch from the quick to the slow fall is placed
    within the step by linear interpolation. Long stretches are cut into segments that run side
    by side, each after a warm-up in which the unknown state before it is forgotten.
    """

    def __init__(self, bands: int, channels: int) -> None:
        self._before = np.zeros((bands, channels, WARM_UP_STEPS))
        self._state = np.zeros((2, bands, channels))

    def feed(
        self, core: npt.NDArray[np.float64], segments: int | None = None
    ) -> npt.NDArray[np.float64]:
        """Take core loudness, shape (bands, channels, times), and return it with its decay."""
        bands, channels, times = core.shape
        if segments is None:
            wanted = max(_SIDE_BY_SIDE // (bands * channels), 1)
            segments = min(wanted, -(-times // _SHORTEST_SEGMENT_STEPS))
        segment_steps = -(-times // segments)
        padding = np.zeros((bands, channels, segments * segment_steps - times))
        known = np.concatenate([self._before, core, padding], axis=2)
        known += _NOTHING
        windows = np.lib.stride_tricks.sliding_window_view(
            known, WARM_UP_STEPS + segment_steps, axis=2
        )[:, :, ::segment_steps]
        # One step of all segments lies together in memory.
        steps = windows.transpose(3, 2, 0, 1).reshape(WARM_UP_STEPS + segment_steps, -1)
        decayed = self._run(steps, times - (segments - 1) * segment_steps)
        self._before = np.concatenate([self._before, core], axis=2)[:, :, -WARM_UP_STEPS:].copy()
        decayed -= _NOTHING
        joined = decayed.reshape(segment_steps, segments, bands, channels).transpose(2, 3, 1, 0)
        return joined.reshape(bands, channels, -1)[:, :, :times]

    def _run(self, steps: npt.NDArray[np.float64], last_steps: int) -> npt.NDArray[np.float64]:
        """Run all segments; shape of `steps` without the warm-up."""
        circuit = _Circuit(steps[0])
        first, last = (circuit.state.reshape(2, -1, self._state[0].size)[:, k] for k in (0, -1))
        for step in steps[:WARM_UP_STEPS]:
            circuit.advance(step)
        first[:] = self._state.reshape(2, -1)
        decayed = np.empty_like(steps[WARM_UP_STEPS:])
        for index, step in enumerate(steps[WARM_UP_STEPS:], start=1):
            circuit.advance(step)
            decayed[index - 1] = circuit.state[0]
            if index == last_steps:
                after = last.copy()
        self._state = after.reshape(self._state.shape)
        return decayed


class _Circuit:
    """Output and memory of many bands at once; both begin at the input."""

    def __init__(self, core: npt.NDArray[np.float64]) -> None:
        self.state = np.stack([core, core])
        (oo, om), (mo, mm) = _exponential(_DISCHARGE * STEP_S)
        keep, old, self._new = _ramp_weights(_MEMORY_S)
        # From (output, memory): what each would be if it discharged freely, by how much memory
        # would then stand above, the gap between both now, the change of memory, and what the
        # low-pass that memory is makes of the past.
        self._system = np.array(
            [[oo, om], [mo, mm], [mo - oo, mm - om], [1.0, -1.0], [mo, mm - 1.0], [old, keep]]
        )
        self._results = np.empty((len(self._system), len(core)))
        self._lost = 1.0 - float(np.exp(-STEP_S / _LONG_S))

    def advance(self, core: npt.NDArray[np.float64]) -> None:
        """Go on by 0.5 ms, towards the input `core`."""
        output, memory = self.state
        fallen, met, crossed, gap, change, remembered = self._results
        np.dot(self._system, self.state, out=self._results)
        # Where the two meet within the step they fall together from there, slowly.
        np.maximum(crossed, _NOTHING, out=crossed)
        np.add(gap, crossed, out=gap)
        np.divide(crossed, gap, out=crossed)
        np.multiply(change, crossed, out=change)
        np.subtract(met, change, out=met)
        np.multiply(crossed, self._lost, out=crossed)
        np.multiply(crossed, met, out=crossed)
        np.subtract(met, crossed, out=met)
        np.maximum(fallen, met, out=fallen)
        np.maximum(fallen, core, out=output)
        np.multiply(output, self._new, out=memory)
        np.add(memory, remembered, out=memory)
        np.minimum(memory, output, out=memory)


class DurationWeighting:
    """Makes short sounds less loud: two low-passes of the total loudness, added.

    References
    ----------
    ISO 532-1:2017, clause 6.
    """

    def __init__(self, channels: int) -> None:
        self._quick = np.zeros((channels, 1))
        self._slow = np.zeros((channels, 1))

    def feed(self, total: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        """Take total loudness, shape (channels, times), and return it weighted."""
        quick, self._quick = _low_passed(total, _QUICK_S, self._quick)
        slow, self._slow = _low_passed(total, _SLOW_S, self._slow)
        return _QUICK_SHARE * quick + (1.0 - _QUICK_SHARE) * slow


def _low_passed(
    total: npt.NDArray[np.float64], time_constant_s: float, state: npt.NDArray[np.float64]
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    keep, old, new = _ramp_weights(time_constant_s)
    passed, state = lfilter([new, old], [1.0, -keep], total, axis=1, zi=state)
    return passed, state
