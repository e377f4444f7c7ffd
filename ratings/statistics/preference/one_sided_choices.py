"""Choices so one-sided that no worth is finite at the maximum: what can be said all the same."""

import numpy as np
import numpy.typing as npt

from ratings.statistics.preference.pair_likelihood import (
    Maximum,
    likelihood_maximum,
    slopes_at,
    third_moments_at,
)
from ratings.statistics.preference.pair_links import separating_direction

Matrix = npt.NDArray[np.float64]


def penalised_maximum(design: Matrix, counts: Matrix) -> Maximum:
    """Fit by the likelihood times the root of the information's determinant, which is finite.

    Parameters
    ----------
    design, counts
        As for `ratings.statistics.preference.pair_likelihood.likelihood_maximum`; the design must
        tell all parameters apart.

    Returns
    -------
    Maximum
        `covariance` is the inverse information there; `log_likelihood` is without the penalty.

    Notes
    -----
    Jeffreys' prior as a penalty takes the bias of first order off the estimates and keeps them
    finite where one side always won. With two sets and no ties the chance of the one that won w of
    n is (w + 1/2) / (n + 1).

    References
    ----------
    Firth D (1993) Biometrika 80:27-38. Heinze G, Schemper M (2002) Statistics in Medicine
    21:2409-2419. Both from memory.
    """
    from scipy.optimize import minimize

    start = np.zeros(design.shape[2])
    found = minimize(_fall, start, args=(design, counts), jac=True, options={"gtol": 1e-9})
    parameters = np.array(found.x, dtype=np.float64)
    log_likelihood, _, information = slopes_at(design, counts, parameters)
    return Maximum(parameters, np.asarray(np.linalg.inv(information)), log_likelihood)


def _fall(parameters: Matrix, design: Matrix, counts: Matrix) -> tuple[float, Matrix]:
    """Return the negative penalised log-likelihood and its slope."""
    log_likelihood, gradient, information = slopes_at(design, counts, parameters)
    sign, log_determinant = np.linalg.slogdet(information)
    if sign <= 0:
        # So far out that nothing is left to rounding: the search has to come back.
        return np.inf, -gradient
    bend = third_moments_at(design, counts, parameters)
    pull = gradient + np.einsum("pq,pqr->r", np.linalg.inv(information), bend) / 2
    return -(log_likelihood + float(log_determinant) / 2), -pull


def likelihood_supremum(design: Matrix, counts: Matrix) -> float:
    """Return the supremum of the log-likelihood, which need not be reached.

    Parameters
    ----------
    design, counts
        As for `ratings.statistics.preference.pair_likelihood.likelihood_maximum`.

    Notes
    -----
    Far out in an endless direction every outcome that falls behind has no chance any more, and
    those that are left make a smaller model; until one is left with a maximum.
    """
    possible = np.ones(counts.shape, dtype=np.bool_)
    direction = separating_direction(design, counts)
    while direction is not None:
        growth = np.where(possible, design @ direction, -np.inf)
        possible &= growth > growth.max(axis=1, keepdims=True) - 1e-7
        direction = separating_direction(design, counts, possible)
    # What only the outcomes without a chance depended on is left out.
    first = np.argmax(possible, axis=1)
    gains = design - design[np.arange(len(design)), first][:, None, :]
    _, sizes, rows = np.linalg.svd(gains[possible], full_matrices=False)
    basis = rows[sizes > 1e-9 * max(1.0, float(sizes.max(initial=0.0)))]
    return likelihood_maximum(design @ basis.T, counts, possible).log_likelihood
