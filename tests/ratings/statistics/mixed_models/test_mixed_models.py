"""The mixed model against lme4, lmerTest, pbkrtest and emmeans, figure by figure."""

import math
import re

import numpy as np
import pytest
from scipy import stats
from single_scores import SingleScores

from ratings.statistics.adjusted_p import holm
from ratings.statistics.cells import gather_cells
from ratings.statistics.differences.paired_t import equivalence_p
from ratings.statistics.distributions import chi_square_upper_tail, t_quantile
from ratings.statistics.largest_t import (
    dunnett_critical,
    dunnett_p,
)
from ratings.statistics.mixed_models.mean_squares import mean_squares
from ratings.statistics.mixed_models.mixed_fit import fit_mixed
from ratings.statistics.mixed_models.mixed_tests import (
    contrasts,
    joint_test,
    kenward_roger,
    satterthwaite,
)
from ratings.statistics.mixed_models.model_cells import EVALUATOR, EVALUATOR_SET

#: Column of the condition or None, whether it interacts, whether evaluator:set is random.
CASES = {
    "mixed_tvbo_sharpness_tvset": (None, False, True),
    "mixed_tvbo_noise_tvset": (None, False, True),
    "mixed_tvbo_colourbalance_tvset": (None, False, True),
    "mixed_tvbo_sharpness_12products": (None, False, True),
    "mixed_tvbo_sharpness_unbalanced": (None, False, True),
    "mixed_tvbo_helppage_example": (2, False, True),
    "mixed_ham": (2, True, False),
}
WAYS = {
    "Satterthwaite": satterthwaite,
    "satterthwaite": satterthwaite,
    "Kenward-Roger": kenward_roger,
    "KR": kenward_roger,
    "kenward-roger": kenward_roger,
}


class Model:
    """A case fitted as it was in R."""

    def __init__(self, case, condition, interacts, has_interaction_of_evaluators):
        rows = case["data"]["rows"]
        columns = [[str(row[i]) for row in rows] for i in (0, 1)]
        columns.append([str(row[condition]) if condition else "" for row in rows])
        (who, self.sets, where), codes = zip(
            *(np.unique(column, return_inverse=True) for column in columns), strict=True
        )
        self.shape = len(who), len(self.sets), len(where)
        scores = np.array([row[-1] for row in rows], dtype=float)
        self.cells = gather_cells(scores, *codes, self.shape)
        sets, conditions = self.shape[1:]
        set_, layer = np.indices((sets, conditions)).reshape(2, -1)
        if interacts:
            self.fixed = np.eye(sets * conditions)
            self.means = np.kron(np.eye(sets), np.full((1, conditions), 1 / conditions))
            of_layers = np.kron(np.full((1, sets), 1 / sets), np.eye(conditions))
        else:
            self.fixed = np.hstack([np.eye(sets)[set_], np.eye(conditions)[layer][:, 1:]])
            self.means = np.hstack([np.eye(sets), np.full((sets, conditions - 1), 1 / conditions)])
            of_layers = np.hstack(
                [np.full((conditions, sets), 1 / sets), np.eye(conditions)[:, 1:]]
            )
        self.components = (
            (EVALUATOR, EVALUATOR_SET) if has_interaction_of_evaluators else (EVALUATOR,)
        )
        self.fit = fit_mixed(self.cells, self.fixed, self.components)
        deviating = [(np.eye(size) - 1 / size)[:-1] for size in (sets, conditions)]
        self.joint = {
            "set": deviating[0] @ self.means,
            "condition": deviating[1] @ of_layers,
            "interaction": np.kron(*deviating) if interacts else None,
        }

    def term(self, name):
        if ":" in name:
            return self.joint["interaction"]
        return self.joint["condition" if name in ("Picture", "Information") else "set"]

    def row(self, label):
        return self.means[list(self.sets).index(label.removeprefix("Product"))]

    def pairs(self):
        first, second = np.triu_indices(self.shape[1], 1)
        return first, second, self.means[first] - self.means[second]


def variance(model, expected):
    name = expected["name"].removeprefix("var ")
    if name == "Residual":
        return {"value": model.fit.residual}
    place = 1 if ":" in name else 0
    return {"value": model.fit.variances[place]}


def log_likelihood(model, expected):
    return {"value": model.fit.log_likelihood}


def joint(model, expected):
    term, what, way = re.fullmatch(r"(\S+) (F|NumDF|DenDF|p) ?(\S*)", expected["name"]).groups()
    found = joint_test(WAYS[way or "KR"](model.fit), model.term(term))
    return {"value": {"F": found.f, "NumDF": found.df1, "DenDF": found.df2, "p": found.p}[what]}


def dropped(model, expected):
    kept = [
        name
        for name, place in ((EVALUATOR, "|"), (EVALUATOR_SET, ":"))
        if name in model.components and (":" in expected["name"]) != (place == ":")
    ]
    if kept:
        smaller = fit_mixed(model.cells, model.fixed, tuple(kept)).log_likelihood
    else:
        smaller = least_squares_likelihood(model)
    ratio = 2 * (model.fit.log_likelihood - smaller)
    if "LRT p" in expected["name"]:
        return {"value": chi_square_upper_tail(max(ratio, 0.0), 1)}
    return {"value": ratio}


def least_squares_likelihood(model):
    """Restricted log-likelihood without any random term, written out."""
    counts = model.cells.counts.sum(axis=0).ravel()
    sums = (model.cells.counts * model.cells.means).sum(axis=0).ravel()
    squares = float((model.cells.scatter + model.cells.counts * np.square(model.cells.means)).sum())
    weight = model.fixed.T @ (counts[:, None] * model.fixed)
    right = model.fixed.T @ sums
    df = counts.sum() - len(weight)
    variance_left = (squares - right @ np.linalg.solve(weight, right)) / df
    return -0.5 * (df * (1 + math.log(2 * math.pi * variance_left)) + np.linalg.slogdet(weight)[1])


def mean_of_set(model, expected):
    label, way = re.fullmatch(r"emmean (\S+) \[(.+)\]", expected["name"]).groups()
    found = contrasts(WAYS[way](model.fit), model.row(label)[None])
    return {
        "value": found.estimate[0],
        "SE": found.se[0],
        "df": found.df[0],
        "lower95": found.lower[0],
        "upper95": found.upper[0],
    }


def pair(model, expected):
    one, two, way, adjusted = re.fullmatch(
        r"pair (\S+) - (\S+) \[(.+),(.+)\]", expected["name"]
    ).groups()
    first, second, rows = model.pairs()
    found = contrasts(WAYS[way](model.fit), rows)
    labels = [(model.sets[i], model.sets[j]) for i, j in zip(first, second, strict=True)]
    place = labels.index((one.removeprefix("Product"), two.removeprefix("Product")))
    df, number = found.df[place], model.shape[1]
    p, critical = {
        "none": lambda: (found.p, t_quantile(0.975, df)),
        "tukey": lambda: (
            stats.studentized_range.sf(math.sqrt(2) * np.abs(found.t), number, found.df),
            stats.studentized_range.isf(0.05, number, df) / math.sqrt(2),
        ),
        # R gives Bonferroni's intervals beside Holm's p.
        "holm": lambda: (holm(found.p), t_quantile(1 - 0.025 / len(rows), df)),
    }[adjusted]()
    return {
        "value": found.estimate[place],
        "SE": found.se[place],
        "df": df,
        "t": found.t[place],
        "p": p[place],
        "lower95": found.estimate[place] - critical * found.se[place],
        "upper95": found.estimate[place] + critical * found.se[place],
    }


def against_control(model, expected):
    label, way = re.fullmatch(r"Dunnett (\S+) - \S+ \[(.+)\]", expected["name"]).groups()
    found = contrasts(WAYS[way](model.fit), model.means[1:] - model.means[0])
    place = list(model.sets[1:]).index(label.removeprefix("Product"))
    # R's integral takes whole degrees of freedom only; ours are compared to 1e-3 below.
    whole = np.rint(found.df)
    half = dunnett_critical(found.correlation, whole)[place] * found.se[place]
    p = dunnett_p(found.t, found.correlation, found.df)[place]
    assert p == pytest.approx(expected["p"], abs=1e-3)
    return {
        "value": found.estimate[place],
        "SE": found.se[place],
        "df": found.df[place],
        "t": found.t[place],
        "p": p,
        "lower95": found.estimate[place] - half,
        "upper95": found.estimate[place] + half,
    }


def equivalent(model, expected):
    one, two, margin, way = re.fullmatch(
        r"TOST (\S+) - (\S+) delta=(\S+) \[(.+)\]", expected["name"]
    ).groups()
    found = contrasts(WAYS[way](model.fit), (model.row(one) - model.row(two))[None])
    figures = [float(a[0]) for a in (found.estimate, found.se, found.df)]
    t = (abs(figures[0]) - float(margin)) / figures[1]
    return {"value": equivalence_p(*figures, float(margin)), "df": figures[2], "t": t}


def by_mean_squares(model, expected):
    found = mean_squares(model.cells)
    return {
        "value": {
            "MS_product": found.sets,
            "MS_assessor": found.evaluators,
            "MS_interaction": found.interaction,
            "MS_residual": found.residual,
            "df_product": found.sets_df,
            "df_interaction": found.interaction_df,
            "df_residual": found.residual_df,
            "F_mixed": found.ratio.f,
            "p_mixed": found.ratio.p,
            "F_interaction": found.interaction_test.f,
            "p_interaction": found.interaction_test.p,
            "F_product_wrong_residual_denominator": found.sets / found.residual,
            "LSD_0.05": found.least_significant_difference,
            "HSD_0.05": stats.studentized_range.isf(0.05, found.sets_df + 1, found.interaction_df)
            / math.sqrt(2)
            * found.standard_error,
        }[expected["name"]]
    }


KINDS = {
    r"var ": variance,
    r"logLik": log_likelihood,
    r"LRT ": dropped,
    r"emmean ": mean_of_set,
    r"pair ": pair,
    r"Dunnett ": against_control,
    r"TOST ": equivalent,
    r"(MS|df|F|p|LSD|HSD)_": by_mean_squares,
    r"\S+ (F|NumDF|DenDF|p)": joint,
}


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_that_every_figure_of_the_case_equals_r(shared_case, name):
    case = shared_case(name)
    model = Model(case, *CASES[name])
    assert (EVALUATOR_SET in model.fit.boundary) == (name == "mixed_tvbo_noise_tvset")
    wrong, checked = [], 0
    for expected in case["expected"]:
        kind = next(kind for pattern, kind in KINDS.items() if re.match(pattern, expected["name"]))
        ours = kind(model, expected)
        for key, value in ours.items():
            if key not in expected:
                continue
            checked += 1
            tolerance = expected.get("tol_abs", 1e-8 * max(1.0, abs(expected[key])))
            if not abs(value - expected[key]) <= tolerance:
                wrong.append((expected["name"], key, value, expected[key]))
    assert wrong == []
    assert checked >= len(case["expected"])


def random_cells(generator, shape, holes=0.0, repeats=2, disagreement=0.5):
    evaluators, sets, conditions = shape
    index = np.indices((*shape, repeats)).reshape(4, -1)
    keep = generator.random(index.shape[1]) >= holes
    e, s, c, _ = index[:, keep]
    scores = (
        generator.normal(6, 1, sets)[s]
        + generator.normal(0, 0.6, evaluators)[e]
        + generator.normal(0, disagreement, (evaluators, sets))[e, s]
        + generator.normal(0, 0.4, conditions)[c]
        + generator.normal(0, 0.5, e.size)
    )
    return gather_cells(scores, e, s, c, shape), (scores, e, s, c)


def test_that_the_fit_equals_statsmodels_where_statsmodels_converges():
    import pandas as pd
    import statsmodels.formula.api as smf

    cells, (scores, e, s, _) = random_cells(np.random.default_rng(4), (9, 4, 1), holes=0.15)
    fit = fit_mixed(cells, np.eye(4), (EVALUATOR, EVALUATOR_SET))
    table = pd.DataFrame({"score": scores, "who": e, "set": s})
    theirs = smf.mixedlm(
        "score ~ 0 + C(set)",
        table,
        groups="who",
        re_formula="1",
        vc_formula={"set": "0 + C(set)"},
    ).fit(reml=True)
    assert fit.log_likelihood == pytest.approx(theirs.llf, abs=1e-5)
    np.testing.assert_allclose(fit.coefficients, theirs.fe_params, atol=1e-4)
    assert fit.residual == pytest.approx(theirs.scale, rel=1e-3)
    assert fit.variances[0] == pytest.approx(float(theirs.cov_re.iloc[0, 0]), abs=1e-3)
    assert fit.variances[1] == pytest.approx(float(theirs.vcomp[0]), abs=1e-3)


def test_that_the_likelihood_is_that_of_the_single_scores_and_nowhere_higher():
    generator = np.random.default_rng(8)
    cells, (scores, e, s, _) = random_cells(generator, (5, 3, 1), holes=0.2, repeats=3)
    fit = fit_mixed(cells, np.eye(3), (EVALUATOR, EVALUATOR_SET))
    plain = SingleScores(scores, np.eye(3)[s], e, 3 * e + s)
    best = np.array([fit.residual, *fit.variances])
    assert fit.log_likelihood == pytest.approx(plain.likelihood(best), abs=1e-9)
    for move in np.vstack([np.eye(3), -np.eye(3)]) * 1e-3:
        if (best + move > 0).all():
            assert plain.likelihood(best + move) < fit.log_likelihood + 1e-9
    information = -plain.hessian(best)
    np.testing.assert_allclose(fit.observed_information, information, rtol=1e-3, atol=1e-3)


def assert_judged_alike(fit, plain, rows):
    """Compare every figure of a fit with the model written out over single scores."""
    variances = np.array([fit.residual, *fit.variances])
    np.testing.assert_allclose(variances, plain.fitted(), atol=1e-5)
    adjusted, judged = plain.kenward_roger(variances, rows)
    cautious, bold = kenward_roger(fit), satterthwaite(fit)
    np.testing.assert_allclose(cautious.covariance, adjusted, rtol=1e-7, atol=1e-12)
    together = joint_test(cautious, rows)
    assert (together.f, together.df2, together.p) == pytest.approx(tuple(judged), rel=1e-6)
    together, judged = joint_test(bold, rows), plain.satterthwaite(variances, rows)
    assert together.f == pytest.approx(judged.f, rel=1e-6)
    # Slopes and information by differences.
    assert together.df2 == pytest.approx(judged.df2, rel=1e-3)
    assert together.p == pytest.approx(judged.p, rel=0.01)
    ours, bolder = contrasts(cautious, rows), contrasts(bold, rows)
    for place, row in enumerate(rows):
        _, alone = plain.kenward_roger(variances, row[None])
        assert ours.se[place] == pytest.approx(np.sqrt(row @ adjusted @ row), rel=1e-7)
        assert (ours.df[place], ours.p[place]) == pytest.approx((alone.df2, alone.p), rel=1e-6)
        assert bolder.df[place] == pytest.approx(plain.satterthwaite_df(variances, row), rel=1e-3)


@pytest.mark.parametrize(("seed", "disagreement"), [(8, 0.5), (1, 0.0)])
def test_that_a_table_with_holes_is_judged_as_the_papers_print_it(seed, disagreement):
    """Three sets in two conditions, unbalanced: no mean squares answer here."""
    shape = (6, 3, 2)
    generator = np.random.default_rng(seed)
    cells, (scores, e, s, c) = random_cells(generator, shape, 0.2, disagreement=disagreement)
    set_, layer = np.indices(shape[1:]).reshape(2, -1)
    fit = fit_mixed(cells, np.column_stack([np.eye(3)[set_], layer]), (EVALUATOR, EVALUATOR_SET))
    assert bool(fit.boundary) == (disagreement == 0)
    plain = SingleScores(scores, np.column_stack([np.eye(3)[s], c]), e, 3 * e + s)
    assert_judged_alike(fit, plain, np.array([[-1.0, 1, 0, 0], [-1, 0, 1, 0]]))


def test_that_sets_that_depend_on_the_condition_are_judged_as_the_papers_print_it():
    """A mean of its own for every set in every condition, evaluators differing in level only."""
    generator = np.random.default_rng(4)
    cells, (scores, e, s, c) = random_cells(generator, (7, 3, 2), 0.2, repeats=1)
    fit = fit_mixed(cells, np.eye(6), (EVALUATOR,))
    plain = SingleScores(scores, np.eye(6)[2 * s + c], e)
    deviating = [(np.eye(size) - 1 / size)[:-1] for size in (3, 2)]
    assert_judged_alike(fit, plain, np.kron(*deviating))
    assert_judged_alike(fit, plain, np.kron(deviating[0], np.full((1, 2), 0.5)))


def test_that_kenward_roger_of_a_balanced_table_is_the_ratio_of_mean_squares():
    generator = np.random.default_rng(15)
    for _ in range(20):
        cells, _ = random_cells(generator, (6, 4, 1))
        fit = fit_mixed(cells, np.eye(4), (EVALUATOR, EVALUATOR_SET))
        found = joint_test(kenward_roger(fit), np.eye(4)[1:] - np.eye(4)[0])
        exact = mean_squares(cells).ratio
        assert found.df2 == pytest.approx(exact.df2)
        if not fit.boundary:
            assert found.f == pytest.approx(exact.f, rel=1e-5)


def test_that_one_contrast_alone_is_student_s_t_whatever_its_degrees_of_freedom():
    """Five evaluators and two sets leave 4, where the general formula divides by zero."""
    for seed, evaluators in enumerate(range(3, 9)):
        cells, _ = random_cells(np.random.default_rng(seed), (evaluators, 2, 1))
        way = kenward_roger(fit_mixed(cells, np.eye(2), (EVALUATOR, EVALUATOR_SET)))
        rows = np.array([[-1.0, 1.0]])
        alone, together = contrasts(way, rows), joint_test(way, rows)
        assert together.df2 == pytest.approx(evaluators - 1)
        assert together.f == pytest.approx(float(alone.t[0]) ** 2)
        assert together.p == pytest.approx(float(alone.p[0]))


def test_that_one_score_a_cell_leaves_the_disagreement_in_the_residual():
    cells, _ = random_cells(np.random.default_rng(3), (6, 4, 1), repeats=1)
    fit = fit_mixed(cells, np.eye(4), (EVALUATOR, EVALUATOR_SET))
    assert fit.components == (EVALUATOR,)
    assert fit.residual == pytest.approx(mean_squares(cells).interaction, rel=1e-6)


def test_that_scores_without_scatter_have_no_fit():
    cells = gather_cells(
        np.array([1.0, 2, 3, 2, 3, 4]), *np.indices((2, 3, 1)).reshape(3, -1), (2, 3, 1)
    )
    assert fit_mixed(cells, np.eye(3), (EVALUATOR,)) is None
    one = gather_cells(np.array([5.0]), *np.zeros((3, 1), dtype=int), (1, 1, 1))
    assert fit_mixed(one, np.eye(1), (EVALUATOR,)) is None
