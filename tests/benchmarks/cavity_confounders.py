"""How often a cavity line is found, and what else passes for one.

Usage: python tests/benchmarks/cavity_confounders.py [--rounds 100] [--curve]. Printed are shares of
recordings of one channel, 100 rounds in about four minutes; with --curve also at stricter and at
looser heights over what lies beside the line, in five times as long.

A line's height is that of its peak density over the floor's, in dB; that of a steady tone is the
height it has in a spectrum of 1 Hz (Hann). Lines of cavities are taken to be 2.5 to 8 Hz wide at
half power (Q 26 to 84): our judgement, from pairs that ring down by 60 dB in 0.3 to 0.9 s.
"""

import argparse
from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
import numpy.typing as npt

from ratings.acoustics.narrow_band import SpectrumMeter
from ratings.acoustics.rolling import cavity_line
from ratings.acoustics.rolling.cavity_line import search_cavity_line
from ratings.acoustics.rolling.cavity_prediction import predicted_cavity_hz, wheel_turns_per_s
from ratings.acoustics.rolling.line_rules import Rule
from ratings.study.tyre_size import tyre_size
from ratings.synthesis.alder_wagon import ALDER_WAGON, COARSE_ASPHALT, SMOOTH_ASPHALT
from ratings.synthesis.cabin import cabin_pressure_pa
from ratings.synthesis.sketch import TyreSketch

Array = npt.NDArray[np.float64]
Maker = Callable[[np.random.Generator, int, float], Array]

RATE_HZ = 1000
TYRE = tyre_size("205/55R16")
SPEEDS_KM_H = (50.0, 65.0, 80.0, 100.0)
HEIGHTS_DB = (3.0, 6.0, 9.0, 12.0)
#: Heights over what lies beside, in shares of the rule's.
CURVE = (0.6, 0.8, 1.0, 1.25, 1.6)


def floor_density(rng: np.random.Generator, frequency_hz: Array) -> Array:
    """Return the density of a falling floor with resonances of the body 20 to 50 Hz wide."""
    density = (np.maximum(frequency_hz, 30.0) / 100.0) ** -2
    for _ in range(4):
        middle_hz, width_hz = rng.uniform(100, 350), rng.uniform(20, 50)
        density *= 1 + rng.uniform(0, 2) / (1 + (2 * (frequency_hz - middle_hz) / width_hz) ** 2)
    return density


def shaped(rng: np.random.Generator, density: Array, frames: int) -> Array:
    """Return noise whose one-sided density is the given one times that of white noise."""
    return np.fft.irfft(np.fft.rfft(rng.standard_normal(frames)) * np.sqrt(density), frames)


def on_floor(
    rng: np.random.Generator, frames: int, lines: tuple[tuple[float, float, float], ...]
) -> Array:
    """Return the floor with resonances: middle and width in hertz, height in dB."""
    frequency_hz = np.fft.rfftfreq(frames, 1 / RATE_HZ)
    density = floor_density(rng, frequency_hz)
    whole = density.copy()
    for middle_hz, width_hz, prominence_db in lines:
        local = np.interp(middle_hz, frequency_hz, density)
        shape = 1 / (1 + (2 * (frequency_hz - middle_hz) / width_hz) ** 2)
        whole += local * (10 ** (prominence_db / 10) - 1) * shape
    return shaped(rng, whole, frames)


def with_tones(rng: np.random.Generator, frames: int, tones: list[tuple[Array, float]]) -> Array:
    """Return the floor with tones: frequency over time, shape (frames,), and height in dB."""
    frequency_hz = np.fft.rfftfreq(frames, 1 / RATE_HZ)
    density = floor_density(rng, frequency_hz)
    sound = shaped(rng, density, frames)
    for at_hz, prominence_db in tones:
        local = np.interp(at_hz.mean(), frequency_hz, density) * 2 / RATE_HZ
        power = 1.5 * local * (10 ** (prominence_db / 10) - 1)
        phase = 2 * np.pi * (np.cumsum(at_hz) / RATE_HZ + rng.random())
        sound += np.sqrt(2 * power) * np.sin(phase)
    return sound


def nothing(rng: np.random.Generator, frames: int, _speed_km_h: float) -> Array:
    return on_floor(rng, frames, ())


def steady_tone(rng: np.random.Generator, frames: int, _speed_km_h: float) -> Array:
    return with_tones(rng, frames, [(np.full(frames, rng.uniform(185, 240)), rng.uniform(6, 20))])


def mains(rng: np.random.Generator, frames: int, _speed_km_h: float) -> Array:
    off = rng.uniform(0.9995, 1.0005)
    return with_tones(
        rng, frames, [(np.full(frames, off * hz), rng.uniform(6, 20)) for hz in (150, 200, 250)]
    )


def wandering(rng: np.random.Generator, frames: int) -> Array:
    """Return a factor to the speed: 0.3 % to either side, as under a speed control."""
    time_s = np.arange(frames) / RATE_HZ
    return 1 + 0.003 * np.sin(2 * np.pi * (time_s / rng.uniform(6, 20) + rng.random()))


def wheel_harmonics(rng: np.random.Generator, frames: int, speed_km_h: float) -> Array:
    turns_per_s = wheel_turns_per_s(TYRE, speed_km_h) * rng.uniform(0.98, 1.02)
    course = turns_per_s * wandering(rng, frames)
    orders = np.arange(int(60 / turns_per_s), int(400 / turns_per_s))
    return with_tones(
        rng, frames, [(order * course, max(0.1, rng.normal(8, 4))) for order in orders]
    )


def engine_orders(rng: np.random.Generator, frames: int, _speed_km_h: float) -> Array:
    course = rng.uniform(13, 25) * wandering(rng, frames)
    orders = np.arange(4, int(400 / course[0]))
    return with_tones(
        rng, frames, [(order * course, max(0.1, rng.normal(8, 4))) for order in orders]
    )


def order_passing(rng: np.random.Generator, frames: int, _speed_km_h: float) -> Array:
    course = np.linspace(rng.uniform(240, 320), rng.uniform(120, 185), frames)
    return with_tones(rng, frames, [(course, rng.uniform(10, 25))])


def order_drifting(rng: np.random.Generator, frames: int, _speed_km_h: float) -> Array:
    """Return an order that stays in the range while the speed drifts by 2 to 12 %."""
    share = rng.choice((-0.5, 0.5)) * rng.uniform(0.02, 0.12)
    course = rng.uniform(190, 235) * np.linspace(1 - share, 1 + share, frames)
    return with_tones(rng, frames, [(course, rng.uniform(6, 20))])


def hump(rng: np.random.Generator, frames: int, _speed_km_h: float) -> Array:
    return on_floor(
        rng, frames, ((rng.uniform(190, 235), rng.uniform(18, 40), rng.uniform(4, 12)),)
    )


@cache
def road(number: int, seconds: int, speed_km_h: float) -> Array:
    """Return the two ears of invented road noise without a cavity, at 1 kHz."""
    from scipy.signal import resample_poly

    sketch = replace((COARSE_ASPHALT, SMOOTH_ASPHALT)[number % 2], seed=3000 + number)
    tyre, rate_hz = replace(TyreSketch("plain"), cavity_db=-80.0), 8_000
    speed = np.full(seconds * rate_hz, speed_km_h)
    rng = np.random.default_rng(number)
    sound = cabin_pressure_pa(ALDER_WAGON, tyre, sketch, speed, rate_hz, rng)
    return np.asarray(resample_poly(sound, 1, 8, axis=0))


def road_floor(rng: np.random.Generator, frames: int, speed_km_h: float) -> Array:
    number = int(rng.integers(10))
    return road(number, frames // RATE_HZ, speed_km_h)[:, rng.integers(2)]


CONFOUNDERS: dict[str, Maker] = {
    "nothing": nothing,
    "steady tone": steady_tone,
    "mains 150, 200, 250 Hz": mains,
    "wheel harmonics": wheel_harmonics,
    "engine orders": engine_orders,
    "order passing": order_passing,
    "order drifting": order_drifting,
    "hump 18 to 40 Hz wide": hump,
    "invented road": road_floor,
}


def cavity_pair(
    rng: np.random.Generator, frames: int, speed_km_h: float, prominence_db: float
) -> tuple[Array, tuple[float, ...]]:
    """Return a floor with a pair of lines, and where these lie."""
    lines_hz = predicted_cavity_hz(TYRE, rng.uniform(15, 40), speed_km_h).lines_hz
    width_hz = rng.uniform(2.5, 8.0)
    sound = on_floor(rng, frames, tuple((hz, width_hz, prominence_db) for hz in lines_hz))
    return sound, lines_hz


def found_in(sound: Array, speed_km_h: float) -> cavity_line.CavityLine | None:
    """Look for the line as a measurement does."""
    meter = SpectrumMeter(RATE_HZ, 1)
    meter.feed(sound[:, np.newaxis])
    spectrum = meter.result()
    prediction = predicted_cavity_hz(TYRE, 20.0, speed_km_h)
    return search_cavity_line(
        spectrum.power,
        spectrum.resolution_hz,
        spectrum.averages,
        prediction,
        over_time=spectrum.over_time,
    ).line


def false_share(make: Maker, seconds: int, rounds: int) -> float:
    """Return the share of recordings in which something else passes for the cavity."""
    rng = np.random.default_rng(5)
    speeds = [SPEEDS_KM_H[number % len(SPEEDS_KM_H)] for number in range(rounds)]
    return float(
        np.mean([found_in(make(rng, seconds * RATE_HZ, v), v) is not None for v in speeds])
    )


def found_share(prominence_db: float, seconds: int, rounds: int) -> float:
    """Return the share of recordings in which a line of a pair is found within 3 Hz."""
    rng = np.random.default_rng(6)
    right = 0
    for number in range(rounds):
        speed_km_h = SPEEDS_KM_H[number % len(SPEEDS_KM_H)]
        sound, lines_hz = cavity_pair(rng, seconds * RATE_HZ, speed_km_h, prominence_db)
        line = found_in(sound, speed_km_h)
        right += line is not None and all(
            min(abs(each.frequency_hz - hz) for hz in lines_hz) <= 3.0 for each in line.lines
        )
    return right / rounds


def at_share(rule: Rule, share: float) -> Rule:
    """Return a rule whose heights, in dB, are a share of its own."""
    least, added = rule.over_beside
    return Rule(rule.chance, rule.over_crests * share, (least**share, added * share))


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=100)
    parser.add_argument("--curve", action="store_true")
    arguments = parser.parse_args()
    rounds, shares = arguments.rounds, CURVE if arguments.curve else (1.0,)
    rules = {name: getattr(cavity_line, name) for name in ("FIRST", "SECOND", "OF_PAIR")}
    print("share of the rule's heights       ", *(f"{share:6.2f} " for share in shares))
    cases: list[tuple[str, Callable[[int], float]]] = [
        (f"found, {prominence_db:g} dB", lambda s, h=prominence_db: found_share(h, s, rounds))
        for prominence_db in HEIGHTS_DB
    ]
    cases += [
        (name, lambda s, m=make: false_share(m, s, rounds)) for name, make in CONFOUNDERS.items()
    ]
    for seconds in (8, 20):
        for name, share_of in cases:
            found = []
            for share in shares:
                for rule, each in rules.items():
                    setattr(cavity_line, rule, at_share(each, share))
                found.append(share_of(seconds))
            row = " ".join(f"{100 * each:6.1f}%" for each in found)
            print(f"{f'{name}, {seconds} s':34}{row}", flush=True)


if __name__ == "__main__":
    main()
