"""A mixed model written out over single scores, as its papers print it: slow and plain.

The library takes scores of a cell, and evaluators with equal cells, together; here nothing is.
"""

from typing import NamedTuple

import numpy as np
from scipy import optimize, stats

Array = np.ndarray


class Judged(NamedTuple):
    """F, its degrees of freedom below, and p."""

    f: float
    df2: float
    p: float


class SingleScores:
    """``score ~ design + (1 | group) + ...``, variances the residual first.

    Each group names for every score the evaluator, or the evaluator and set, that it belongs to.
    """

    def __init__(self, scores: Array, design: Array, *groups: Array) -> None:
        self.scores, self.design = scores, design
        same = [np.equal.outer(group, group).astype(float) for group in groups]
        self.parts = [np.eye(len(scores)), *same]

    def solved(self, variances: Array) -> tuple[Array, Array, Array]:
        """Return V^-1, the covariance of the coefficients, and the coefficients."""
        inverse = np.linalg.inv(np.einsum("a,aij->ij", variances, self.parts))
        covariance = np.linalg.inv(self.design.T @ inverse @ self.design)
        return inverse, covariance, covariance @ self.design.T @ inverse @ self.scores

    def likelihood(self, variances: Array) -> float:
        """Restricted log-likelihood."""
        inverse, covariance, coefficients = self.solved(variances)
        rest = self.scores - self.design @ coefficients
        return -0.5 * (
            (len(self.scores) - len(coefficients)) * np.log(2 * np.pi)
            - np.linalg.slogdet(inverse)[1]
            - np.linalg.slogdet(covariance)[1]
            + rest @ inverse @ rest
        )

    def fitted(self) -> Array:
        """Climb to the highest likelihood; variances may come to rest at zero."""
        start = np.full(len(self.parts), self.scores.var() / len(self.parts))
        least = [(1e-6, None), *[(0, None)] * (len(self.parts) - 1)]
        found = optimize.minimize(
            lambda v: -self.likelihood(v), start, bounds=least, method="L-BFGS-B",
            options={"ftol": 1e-15, "gtol": 1e-8},
        )  # fmt: skip
        return found.x

    def hessian(self, variances: Array, step: float = 2e-4) -> Array:
        """Second derivatives of the log-likelihood, by differences."""
        moves = np.eye(len(variances)) * step
        return np.array(
            [
                [
                    sum(
                        one * other * self.likelihood(variances + one * a + other * b)
                        for one in (1, -1)
                        for other in (1, -1)
                    )
                    / (4 * step**2)
                    for b in moves
                ]
                for a in moves
            ]
        )

    def kenward_roger(self, variances: Array, rows: Array) -> tuple[Array, Judged]:
        """Return the adjusted covariance, and the test that all `rows` of coefficients are zero.

        Kenward MG, Roger JH (1997) Biometrics 53:983-997, in their letters. The covariance is
        linear in the variances, so that R vanishes.
        """
        inverse, phi, coefficients = self.solved(variances)
        x = self.design
        project = inverse - inverse @ x @ phi @ x.T @ inverse
        information = [
            [np.trace(project @ a @ project @ b) / 2 for b in self.parts] for a in self.parts
        ]
        w = np.linalg.inv(information)
        p = [-x.T @ inverse @ a @ inverse @ x for a in self.parts]
        q = [
            [x.T @ inverse @ a @ inverse @ b @ inverse @ x for b in self.parts] for a in self.parts
        ]
        pairs = list(np.ndindex(w.shape))
        inner = sum(w[i, j] * (q[i][j] - p[i] @ phi @ p[j]) for i, j in pairs)
        adjusted = phi + 2 * phi @ inner @ phi
        number = len(rows)
        theta = rows.T @ np.linalg.inv(rows @ phi @ rows.T) @ rows
        turned = [theta @ phi @ each @ phi for each in p]
        a1 = sum(w[i, j] * np.trace(turned[i]) * np.trace(turned[j]) for i, j in pairs)
        a2 = sum(w[i, j] * np.trace(turned[i] @ turned[j]) for i, j in pairs)
        b = (a1 + 6 * a2) / (2 * number)
        g = ((number + 1) * a1 - (number + 4) * a2) / ((number + 2) * a2)
        below = 3 * number + 2 * (1 - g)
        c1, c2, c3 = g / below, (number - g) / below, (number + 2 - g) / below
        expected = 1 / (1 - a2 / number)
        variance = 2 / number * (1 + c1 * b) / ((1 - c2 * b) ** 2 * (1 - c3 * b))
        rho = variance / (2 * expected**2)
        m = 4 + (number + 2) / (number * rho - 1)
        estimate = rows @ coefficients
        plain = estimate @ np.linalg.solve(rows @ adjusted @ rows.T, estimate) / number
        f = m / (expected * (m - 2)) * plain
        return adjusted, Judged(f, m, stats.f.sf(f, number, m))

    def satterthwaite(self, variances: Array, rows: Array) -> Judged:
        """Test that all `rows` of coefficients are zero.

        Fai AH-T, Cornelius PL (1996) Journal of Statistical Computation and Simulation 54:363-378.
        """
        _, covariance, coefficients = self.solved(variances)
        spread, estimate = rows @ covariance @ rows.T, rows @ coefficients
        f = estimate @ np.linalg.solve(spread, estimate) / len(rows)
        turned = np.linalg.eigh(spread)[1].T @ rows
        df = np.array([self.satterthwaite_df(variances, row) for row in turned])
        expected = (df / (df - 2)).sum()
        df2 = 2 * expected / (expected - len(rows))
        return Judged(f, df2, stats.f.sf(f, len(rows), df2))

    def satterthwaite_df(self, variances: Array, row: Array, step: float = 1e-4) -> float:
        """Degrees of freedom of one combination; variances at zero count as known."""
        free = variances > 0
        inverted = np.linalg.inv(-self.hessian(variances)[np.ix_(free, free)])

        def variance(at: Array) -> float:
            return row @ self.solved(at)[1] @ row

        moves = np.eye(len(free))[free] * step
        slope = [(variance(variances + a) - variance(variances - a)) / (2 * step) for a in moves]
        return 2 * variance(variances) ** 2 / (slope @ inverted @ slope)
