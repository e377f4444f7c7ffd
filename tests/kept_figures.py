"""Figures of a measurement that a study has to keep as they are."""

import math

from ratings.study.figures import EARS, Figure

#: A level, silence, and a figure that is undefined.
FIGURES = (
    Figure("1", "leq_a", "dB(A)", 61.2),
    Figure("2", "leq_a", "dB(A)", -math.inf),
    Figure(EARS, "cavity_line_hz", "Hz", math.nan),
)
