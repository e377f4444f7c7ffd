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


def likelihood_maximum(design: Matrix, counts: Matrix) -> Maximum:
    """Fit a multinomial logit model whose maximum is finite and unique.

    Parameters
    ----------
    design
        What each parameter adds to the log of each outcome's chance, shape
        (cells, outcomes, parameters).
    counts
        How often each outcome was observed, shape (cells, outcomes).

    Notes
    -----
    The log-likelihood is concave, so that a step that does not climb is halved until it does. See
    `ratings.statistics.preference.pair_links.endless_direction` for when there is no maximum.
    """
    parameters = np.zeros(design.shape[2])
    height, gradient, information = _slopes(design, counts, parameters)
    for _ in range(MOST_STEPS if parameters.size else 0):
        step = np.linalg.solve(information, gradient)
        gain = float(gradient @ step)
        if gain < 1e-20 * max(1.0, abs(height)):
            break
        share = 1.0
        tried = _slopes(design, counts, parameters + step)
        while tried[0] < height and share > 1e-9:
            share /= 2
            tried = _slopes(design, counts, parameters + share * step)
        parameters = parameters + share * step
        height, gradient, information = tried
    covariance: Matrix = np.asarray(np.linalg.inv(information), dtype=np.float64)
    return Maximum(parameters, covariance, height)


def gradient_at(design: Matrix, counts: Matrix, parameters: Matrix) -> Matrix:
    """Return the slope of the log-likelihood of some choices, shape (parameters,)."""
    return _slopes(design, counts, parameters)[1]


def saturated_log_likelihood(counts: Matrix) -> float:
    """Return the log-likelihood of the model that fits every cell by itself."""
    totals = np.broadcast_to(counts.sum(axis=1, keepdims=True), counts.shape)
    seen = counts > 0
    return float((counts[seen] * np.log(counts[seen] / totals[seen])).sum())


def _slopes(design: Matrix, counts: Matrix, parameters: Matrix) -> tuple[float, Matrix, Matrix]:
    scores = design @ parameters
    scores = scores - scores.max(axis=1, keepdims=True)
    log_chances = scores - np.log(np.exp(scores).sum(axis=1, keepdims=True))
    chances = np.exp(log_chances)
    expected = np.einsum("co,cop->cp", chances, design)
    totals = counts.sum(axis=1)
    gradient = np.einsum("co,cop->p", counts, design) - totals @ expected
    spread = design - expected[:, None, :]
    weights = chances * totals[:, None]
    information = np.einsum("co,cop,coq->pq", weights, spread, spread)
    return float((counts * log_chances).sum()), gradient, information
