"""The fast way to the envelopes against the model written out plainly."""

import numpy as np
import pytest

from ratings.acoustics.audibility import bark, threshold_db
from ratings.acoustics.roughness import tables
from ratings.acoustics.roughness.meter import roughness

FINER = 4


def plain_excitations(spectrum, frequency_hz):
    """Spectra of the 47 bands, shape (47, lines), each line weighed by its slopes."""
    rate_bark = bark(frequency_hz)
    spectrum = spectrum * 10 ** (tables.ear_gain_db(rate_bark) / 20)
    level_db = 20 * np.log10(np.abs(spectrum) / 2e-5 + 1e-30)
    audible = level_db > threshold_db(rate_bark)
    upward_db = np.minimum(-24 - 230 / frequency_hz + 0.2 * level_db, 0)
    excitations = []
    for centre_bark in np.arange(1, 48) / 2:
        low, high = centre_bark - 0.5, centre_bark + 0.5
        from_below, from_above = rate_bark < low, rate_bark > high
        change_db = np.where(from_below, upward_db * (low - rate_bark), 0)
        change_db = np.where(from_above, -27 * (rate_bark - high), change_db)
        edge_bark = np.where(from_below, low, high)
        heard = level_db + change_db > threshold_db(edge_bark)
        heard |= ~(from_below | from_above)
        excitations.append(spectrum * 10 ** (change_db / 20) * (heard & audible))
    return np.array(excitations)


def plain_asper(frame, sample_rate_hz: int) -> float:
    """Roughness of one frame by full transforms, on a finer time grid so as not to alias."""
    length = len(frame)
    window = np.blackman(length + 1)[:-1]
    spectrum = np.fft.rfft(frame * window) * np.sqrt(2) / window.sum()
    frequency_hz = np.arange(len(spectrum)) * sample_rate_hz / length
    kept = (frequency_hz > 0) & (frequency_hz <= tables.HIGHEST_HZ)
    lines = np.zeros((47, length * FINER), dtype=complex)
    lines[:, np.flatnonzero(kept)] = plain_excitations(spectrum[kept], frequency_hz[kept])
    course = np.abs(np.fft.ifft(lines).real)
    mean = course.mean(axis=1)
    # Only frequencies below half the sample rate carry a weight.
    modulation_hz = np.arange(length // 2) * sample_rate_hz / length
    weights = tables.modulation_weights(modulation_hz)
    weights[:, :2] = 0
    weighted = np.fft.rfft(course)[:, : length // 2] * weights
    filtered = np.fft.irfft(weighted, length) / FINER
    effective = filtered.std(axis=1)
    depth = np.minimum(effective / np.where(mean > 0, mean, np.inf), 1)
    correlation = np.zeros(45)
    for band in range(45):
        if effective[band] > 0 and effective[band + 2] > 0:
            correlation[band] = np.corrcoef(filtered[band], filtered[band + 2])[0, 1]
    depth[:-2] *= correlation
    depth[2:] *= correlation
    return 0.25 * float((tables.band_weights() * depth**2).sum())


def level(signal, level_db: float):
    return signal / np.sqrt(np.mean(signal**2)) * 2e-5 * 10 ** (level_db / 20)


def tone(frequency_hz: float, level_db: float, time_s, modulation_hz: float = 0.0):
    envelope = 1 + np.sin(2 * np.pi * modulation_hz * time_s) if modulation_hz else 1.0
    return level(envelope * np.sin(2 * np.pi * frequency_hz * time_s), level_db)


def road_noise(level_db: float, time_s, sample_rate_hz: int):
    spectrum = np.fft.rfft(np.random.default_rng(2).normal(size=len(time_s)))
    frequency_hz = np.arange(len(spectrum)) * sample_rate_hz / len(time_s)
    return level(np.fft.irfft(spectrum / (1 + (frequency_hz / 150) ** 1.2), len(time_s)), level_db)


def sounds(sample_rate_hz: int):
    time_s = np.arange(round(0.3 * sample_rate_hz)) / sample_rate_hz

    def road(level_db):
        return road_noise(level_db, time_s, sample_rate_hz)

    yield "white", level(np.random.default_rng(1).normal(size=len(time_s)), 80)
    yield "road", road(70)
    yield "loud road", road(88)
    yield "boom", road(65) + tone(83, 88, time_s)
    yield (
        "boom above a thin tone",
        road(50) + tone(100, 100, time_s) + tone(1040, 60, time_s),
    )
    yield "cavity pair", road(70) + tone(205, 62, time_s) + tone(215, 62, time_s)
    yield "pattern", road(65) + tone(738, 62, time_s, 33)
    for carrier_hz, modulation_hz in ((125, 30), (250, 45), (1000, 70), (4000, 70), (8000, 140)):
        yield f"{carrier_hz} Hz", tone(carrier_hz, 70, time_s, modulation_hz)


@pytest.mark.slow
@pytest.mark.parametrize("sample_rate_hz", [44_100, 48_000, 51_200])
def test_that_few_instants_read_what_full_transforms_do(sample_rate_hz: int) -> None:
    length = round(0.2 * sample_rate_hz)
    for name, sound in sounds(sample_rate_hz):
        found = roughness(sound[:, None], sample_rate_hz).asper[:, 0]
        starts = np.arange(len(found)) * (length // 2)
        plain = [plain_asper(sound[start : start + length], sample_rate_hz) for start in starts]
        # Three per cent are asked of each frame; the largest that was seen was 1.2.
        assert found == pytest.approx(plain, rel=0.02), name
