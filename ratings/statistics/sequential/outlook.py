"""How many more evaluators would likely settle a difference, by what is known of it so far."""

import numpy as np
import numpy.typing as npt

Matrix = npt.NDArray[np.float64]

#: Futures that are drawn; a chance of 80 % is good to 1.3 %.
_FUTURES = 1000
_SEED = 20261127


def chance_to_settle(
    mean: float,
    sd: float,
    evaluators: int,
    clear_t: Matrix,
    same_t: Matrix,
    margin: float,
    least_sd: float = 0.0,
) -> Matrix:
    """Return the chance that a difference is settled by each of the next evaluators.

    Parameters
    ----------
    mean, sd
        Of the differences so far, in score points; `sd` above zero.
    evaluators
        How many these are of; two or more.
    clear_t
        |t| that settles a difference after 1, 2, ... more evaluators, shape (more,).
    same_t
        Standard errors that must lie within the margin on both sides to settle that it is too
        small to matter, shape (more,).
    margin
        In score points.
    least_sd
        Smallest scatter that is counted with, in score points.

    Returns
    -------
    numpy.ndarray
        Shape (more,), rising: settled at this look or at one before.

    Notes
    -----
    Neither the difference nor the scatter is known: both are drawn from what the scores so far
    leave open (normal values, prior flat in the mean and in the logarithm of the SD, so that the
    next value is a Student's t around the mean; Gelman A et al. (2013) Bayesian Data Analysis, 3rd
    ed., 3.2; from memory), and then evaluators with them. Drawn with a fixed seed: the same scores
    give the same answer.
    """
    n, more = evaluators, clear_t.size
    drawn = np.random.default_rng(_SEED)
    true_sd = sd * np.sqrt((n - 1) / drawn.chisquare(n - 1, _FUTURES))
    true_mean = mean + true_sd * drawn.standard_normal(_FUTURES) / np.sqrt(n)
    noise = drawn.standard_normal((_FUTURES, more))
    # Deviations from the mean so far: no digits are lost.
    values = (true_mean - mean)[:, None] + true_sd[:, None] * noise
    count = n + np.arange(1, more + 1)
    moved = values.cumsum(axis=1) / count
    squares = (n - 1) * sd**2 + np.square(values).cumsum(axis=1) - count * np.square(moved)
    se = np.sqrt(np.maximum(squares / (count - 1), least_sd**2) / count)
    size = np.abs(mean + moved)
    # An infinite t settles nothing, not even a difference without scatter.
    with np.errstate(invalid="ignore"):
        settled = (size >= clear_t * se) | (size + same_t * se <= margin)
    chance: Matrix = np.logical_or.accumulate(settled, axis=1).mean(axis=0)
    return chance
