"""Two one-sided tests of no audible difference."""


def equivalence_p(difference: float, se: float, df: float, margin: float) -> float:
    """Return the p of two one-sided tests that the difference is smaller than a margin.

    Parameters
    ----------
    difference, se
        Estimate and its standard error, in score points.
    df
        Degrees of freedom of the standard error.
    margin
        In score points, positive: a smaller difference does not matter. Set before listening.

    Returns
    -------
    float
        The larger of both one-sided p; below 0.05 exactly when the 90 % interval lies inside the
        margin on both sides. A large p does not say that there is a difference.

    References
    ----------
    Schuirmann DJ (1987) Journal of Pharmacokinetics and Biopharmaceutics 15:657-680;
    R ``emmeans::test(side = "equivalence", delta = margin)``.
    """
    from scipy.special import stdtr

    if se <= 0:
        return 0.0 if abs(difference) < margin else 1.0
    return float(stdtr(df, (abs(difference) - margin) / se))
