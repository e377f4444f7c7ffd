"""Maximum likelihood for choices among a few outcomes, by Newton's method."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Matrix = npt.NDArray[np.float64]

MOST_STEPS = 200


@dataclass(frozen=True, slots=True)
class Maximum:
    """Where the likelihood is highest.

    Attributes
    ----------
    parameters
        Shape (parameters,).
    covariance
        Inverse of the information, shape (parameters, parameters).
    log_likelihood
        Without the multinomial coefficients.
    """

    parameters: Matrix
    covariance: Matrix
    log_likelihood: float


def likelihood_maximum(
    design: Matrix, counts: Matrix, possible: npt.NDArray[np.bool_] | None = None
) -> Maximum:
    """Fit a multinomial logit model whose maximum is finite and unique.

    Parameters
    ----------
    design
        What each parameter adds to the log of each outcome's chance, shape
        (cells, outcomes, parameters).
    counts
        How often each outcome was observed, shape (cells, outcomes).
    possible
        Outcomes that have a chance at all, the observed ones among them; None for all.

    Notes
    -----
    The log-likelihood is concave, so that a step that does not climb is halved until it does; a
    loss within rounding is none, or the last steps would never be made. See
    `ratings.statistics.preference.pair_links.separating_direction` for when there is no maximum.
    """
    parameters = np.zeros(design.shape[2])
    height, gradient, information = slopes_at(design, counts, parameters, possible)
    for _ in range(MOST_STEPS if parameters.size else 0):
        step = np.linalg.solve(information, gradient)
        gain = float(gradient @ step)
        if gain < 1e-20 * max(1.0, abs(height)):
            break
        share = 1.0
        tried = slopes_at(design, counts, parameters + step, possible)
        rounding = 1e-13 * max(1.0, abs(height))
        while tried[0] < height - rounding and share > 1e-9:
            share /= 2
            tried = slopes_at(design, counts, parameters + share * step, possible)
        parameters = parameters + share * step
        height, gradient, information = tried
    covariance: Matrix = np.asarray(np.linalg.inv(information), dtype=np.float64)
    return Maximum(parameters, covariance, height)


def gradient_at(design: Matrix, counts: Matrix, parameters: Matrix) -> Matrix:
    """Return the slope of the log-likelihood of some choices, shape (parameters,)."""
    return slopes_at(design, counts, parameters)[1]


def saturated_log_likelihood(counts: Matrix) -> float:
    """Return the log-likelihood of the model that fits every cell by itself."""
    totals = np.broadcast_to(counts.sum(axis=1, keepdims=True), counts.shape)
    seen = counts > 0
    return float((counts[seen] * np.log(counts[seen] / totals[seen])).sum())


def slopes_at(
    design: Matrix,
    counts: Matrix,
    parameters: Matrix,
    possible: npt.NDArray[np.bool_] | None = None,
) -> tuple[float, Matrix, Matrix]:
    """Return the log-likelihood, its slope and the information."""
    log_chances = _log_chances(design, parameters, possible)
    chances = np.exp(log_chances)
    expected = np.einsum("co,cop->cp", chances, design)
    totals = counts.sum(axis=1)
    gradient = np.einsum("co,cop->p", counts, design) - totals @ expected
    spread = design - expected[:, None, :]
    weights = chances * totals[:, None]
    information = np.einsum("co,cop,coq->pq", weights, spread, spread)
    seen = counts > 0
    return float((counts[seen] * log_chances[seen]).sum()), gradient, information


def third_moments_at(design: Matrix, counts: Matrix, parameters: Matrix) -> Matrix:
    """Return how the information changes, shape (parameters, parameters, parameters)."""
    chances = np.exp(_log_chances(design, parameters, None))
    spread = design - np.einsum("co,cop->cp", chances, design)[:, None, :]
    weights = chances * counts.sum(axis=1)[:, None]
    return np.asarray(
        np.einsum("co,cop,coq,cor->pqr", weights, spread, spread, spread, optimize=True)
    )


def _log_chances(
    design: Matrix, parameters: Matrix, possible: npt.NDArray[np.bool_] | None
) -> Matrix:
    scores = design @ parameters
    if possible is not None:
        scores = np.where(possible, scores, -np.inf)
    scores = scores - scores.max(axis=1, keepdims=True)
    return np.asarray(scores - np.log(np.exp(scores).sum(axis=1, keepdims=True)))
