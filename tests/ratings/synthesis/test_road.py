import numpy as np
import pytest
from scipy.signal import coherence, welch

from ratings.synthesis.road import GRID_M, REFERENCE_SPEED_M_S, along, laid_road
from ratings.synthesis.sketch import RoadSketch

PLAIN = RoadSketch("plain", seed=7, wander_db=0.01, patch_db=0.0, edge_m=0.0)
PER_M = round(1 / GRID_M)


def test_that_the_reference_drive_has_unit_density_before_the_contact_patch() -> None:
    # Welch over distance instead of the spectrum the road was made from; waves longer than the
    # contact patch pass it (at 2 per metre 5 % less), so the plateau is 1/v per cycle per metre.
    per_m, density = welch(laid_road(PLAIN).slope[0], PER_M, nperseg=16 * PER_M)
    plateau = density[(per_m > 1.5) & (per_m < 2.5)].mean()
    assert 10 * np.log10(plateau * REFERENCE_SPEED_M_S) == pytest.approx(-0.2, abs=0.4)


def test_that_a_smoother_surface_drives_less_and_least_at_short_waves() -> None:
    smooth = RoadSketch("smooth", 7, -7.0, -1.0, wander_db=0.01, patch_db=0.0, edge_m=0.0)
    per_m, plain_density = welch(laid_road(PLAIN).slope[0], PER_M, nperseg=16 * PER_M)
    smooth_density = welch(laid_road(smooth).slope[0], PER_M, nperseg=16 * PER_M)[1]
    fall_db = 10 * np.log10(smooth_density / plain_density)
    assert np.interp(4.5, per_m, fall_db) == pytest.approx(-7.0, abs=0.3)
    assert np.interp(18.0, per_m, fall_db) == pytest.approx(-9.0, abs=0.3)


def test_that_the_tracks_share_long_waves_only() -> None:
    left, right = laid_road(PLAIN).slope
    per_m, shared = coherence(left, right, PER_M, nperseg=16 * PER_M)
    assert shared[(per_m > 0.1) & (per_m < 0.25)].mean() > 0.4
    assert shared[(per_m > 4.0) & (per_m < 8.0)].mean() < 0.1


def test_that_the_level_wanders_by_what_the_sketch_says() -> None:
    wandering = RoadSketch("wandering", seed=8, wander_db=1.5, patch_db=0.0)
    assert laid_road(wandering).level_db.std() == pytest.approx(1.5, rel=0.02)
    patched = RoadSketch("patched", seed=8, wander_db=0.0, patch_db=1.5)
    assert laid_road(patched).level_db.std() == pytest.approx(1.5, rel=0.35)


def test_that_edges_stand_out_of_the_road() -> None:
    edged = RoadSketch("edged", seed=7, wander_db=0.01, patch_db=0.0, edge_m=3.0)

    def peakedness(sketch: RoadSketch) -> float:
        slope = laid_road(sketch).slope[0]
        return float(np.mean(slope**4) / np.mean(slope**2) ** 2)

    assert peakedness(PLAIN) == pytest.approx(3.0, abs=0.1)
    assert peakedness(edged) > 4.0


def test_that_a_road_is_the_same_for_the_same_seed_and_another_for_another() -> None:
    again = RoadSketch("same bumps, other name", PLAIN.seed, wander_db=0.01, patch_db=0, edge_m=0)
    other = RoadSketch("plain", seed=9, wander_db=0.01, patch_db=0.0, edge_m=0.0)
    assert np.array_equal(laid_road(again).slope, laid_road(PLAIN).slope)
    assert abs(np.corrcoef(laid_road(other).slope[0], laid_road(PLAIN).slope[0])[0, 1]) < 0.05


def test_that_reading_along_the_road_meets_its_grid_and_wraps() -> None:
    slope = laid_road(PLAIN).slope
    assert along(slope, np.array([0.0, 3 * GRID_M]))[:, 1] == pytest.approx(slope[:, 3])
    assert along(slope, np.array([-GRID_M]))[:, 0] == pytest.approx(slope[:, -1])
    halfway = along(slope, np.array([2.5 * GRID_M]))[:, 0]
    assert halfway == pytest.approx(slope[:, 2:4].mean(axis=1))
