import pytest

from ratings.errors import RatingsError
from ratings.synthesis.sketch import TyreSketch


@pytest.mark.parametrize(
    "wrong",
    [{"pitch_count": 0}, {"pitch_randomness": 1.2}, {"whine_peak_width_km_h": 0.0}],
)
def test_that_a_tyre_that_cannot_be_is_refused_by_name(wrong: dict[str, float]) -> None:
    with pytest.raises(RatingsError, match="Tyre odd"):
        TyreSketch("odd", **wrong)
