"""The invented vehicle and the two invented surfaces of the sample study."""

from ratings.synthesis.sketch import BodyMode, RoadSketch, VehicleSketch

#: Frequencies, damping and levels are ours, set so that the sum looks like published interior
#: spectra (see tests/ratings/synthesis/test_interior_spectrum.py); no real vehicle was measured.
ALDER_WAGON = VehicleSketch(
    name="Alder wagon (invented)",
    wheelbase_m=2.66,
    modes=(
        BodyMode(11.5, 0.12, 78.0, "ride"),
        BodyMode(17.5, 0.10, 81.0, "ride"),
        BodyMode(33.5, 0.06, 84.5, "boom"),
        BodyMode(47.0, 0.055, 81.0, "boom"),
        BodyMode(66.0, 0.06, 73.0, "rumble"),
        BodyMode(79.0, 0.05, 72.5, "rumble"),
        BodyMode(93.0, 0.05, 70.0, "rumble"),
        BodyMode(107.0, 0.045, 68.5, "rumble"),
        BodyMode(124.0, 0.05, 67.0, "rumble"),
        BodyMode(142.0, 0.045, 65.5, "rumble"),
        BodyMode(163.0, 0.05, 63.5, "rumble"),
        BodyMode(188.0, 0.06, 60.0, "rumble"),
        BodyMode(218.0, 0.06, 59.0, "rumble"),
        BodyMode(247.0, 0.05, 62.0, "rumble"),
        BodyMode(274.0, 0.045, 65.0, "rumble"),
        BodyMode(303.0, 0.045, 64.5, "rumble"),
        BodyMode(331.0, 0.045, 63.0, "rumble"),
        BodyMode(368.0, 0.045, 59.0, "rumble"),
        BodyMode(405.0, 0.045, 57.0, "rumble"),
        BodyMode(451.0, 0.05, 55.0, "rumble"),
    ),
    cavity_level_db=72.0,
    pattern_level_db=52.0,
    roar_level_db=60.5,
    hiss_level_db=51.0,
    wind_level_db=60.0,
    seed=20,
)

COARSE_ASPHALT = RoadSketch(
    name="coarse asphalt",
    seed=301,
    wander_db=1.1,
    patch_db=1.0,
    patch_m=8.0,
    edge_m=1.2,
)

SMOOTH_ASPHALT = RoadSketch(
    name="smooth asphalt",
    seed=302,
    texture_db=-7.0,
    tilt_db_per_octave=-0.8,
    wander_db=0.8,
    patch_db=0.7,
    patch_m=14.0,
    edge_m=1.8,
    roar_db=-5.0,
    hiss_db=0.5,
    pattern_db=0.0,
)
