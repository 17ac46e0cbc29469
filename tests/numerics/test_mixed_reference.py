"""REML, Kenward-Roger and Satterthwaite against R (lme4, pbkrtest, lmerTest, emmeans) on open data sets.

Tolerances: R stops its search when the ratio of SDs moves less than 1e-12 in a function that is flat at its top, which
leaves about 1e-7 relative in variances (1e-5 in a component one hundredth of the residual) and half of that in standard
errors; ours stops at machine precision. Estimates, standard errors, t: 1e-5 relative as agreed; df: 1e-4 relative.
lmerTest's df come from numerical derivatives (about 1e-6). Log-likelihoods are flat at the top: 1e-9 absolute.
"""

from functools import cache
from typing import Any

import numpy as np
import pytest
from tests.cases import reference

from evenground.numerics import kenward_roger, mixed, satterthwaite

ESTIMATE, DF = 1e-5, 1e-4
SINGULAR = [name for name in reference.MODEL_NAMES if reference.expected(name)["singular"]]
REGULAR = [name for name in reference.MODEL_NAMES if name not in SINGULAR]
WITH_F = [name for name in REGULAR if reference.expected(name)["F_KR"]]
WITH_MEANS = [name for name in REGULAR if "emmeans" in reference.expected(name)]
WITH_JOINT_SATTERTHWAITE = [name for name in REGULAR if "F_satterthwaite" in reference.expected(name)]


@cache
def fitted(name: str) -> tuple[mixed.MixedFit, kenward_roger.KenwardRoger]:
    model = reference.model(name)
    fit = mixed.fit(model.y, model.design(), model.factors)
    return fit, kenward_roger.adjust(fit)


def units(count: int) -> np.ndarray:
    return np.eye(count)


def test_no_model_was_forgotten() -> None:
    """Every entry of the reference files that is a mixed model has a model here."""

    def models(table: dict[str, Any], prefix: str = "") -> list[str]:
        found = []
        for name, entry in table.items():
            if isinstance(entry, dict):
                found += [prefix + name] if "variance_components" in entry else []
                found += models(entry, f"{prefix}{name}/")
        return found

    assert sorted(reference.MODEL_NAMES) == sorted(models(reference.mixed_models()) + models(reference.more_models()))
    assert len(REGULAR) >= 28
    assert len(SINGULAR) == 7


@pytest.mark.parametrize("name", REGULAR)
def test_variances(name: str) -> None:
    fit, _ = fitted(name)
    model, expected = reference.model(name), reference.expected(name)
    components = {tuple(sorted(key.split(":"))): value for key, value in expected["variance_components"].items()}
    assert not fit.singular
    assert fit.residual_variance == pytest.approx(components.pop(("Residual",)), rel=1e-6)
    ours = {tuple(sorted(term)): value for term, value in zip(model.random, fit.variances, strict=True)}
    assert ours == pytest.approx(components, rel=1e-5)


@pytest.mark.parametrize("name", reference.MODEL_NAMES)
def test_log_likelihood(name: str) -> None:
    fit, _ = fitted(name)
    assert fit.log_likelihood == pytest.approx(reference.expected(name)["logLik_REML"], abs=1e-9)


@pytest.mark.parametrize("name", SINGULAR)
def test_a_variance_on_its_bound_is_reported(name: str) -> None:
    assert fitted(name)[0].singular
    assert fitted(name)[0].variances.min() == 0.0


@pytest.mark.parametrize("name", REGULAR)
def test_coefficients_kenward_roger(name: str) -> None:
    _, adjusted = fitted(name)
    for row, expected in zip(units(len(adjusted.coefficients)), reference.expected(name)["fixed"], strict=True):
        test = adjusted.contrast(row)
        assert test.estimate == pytest.approx(expected["estimate"], rel=ESTIMATE, abs=1e-8 * expected["se_KR"])
        assert test.standard_error == pytest.approx(expected["se_KR"], rel=ESTIMATE)
        assert test.t == pytest.approx(expected["t"], rel=ESTIMATE)
        assert test.df == pytest.approx(expected["df_KR"], rel=DF)
        if "p" in expected:
            assert test.p == pytest.approx(expected["p"], rel=1e-4, abs=1e-30)


@pytest.mark.parametrize("name", REGULAR)
def test_coefficients_satterthwaite(name: str) -> None:
    fit, _ = fitted(name)
    expected = reference.expected(name)
    freedom = expected["satterthwaite_df"]
    freedom = list(freedom.values()) if isinstance(freedom, dict) else freedom
    for row, coefficient, df in zip(units(len(fit.coefficients)), expected["fixed"], freedom, strict=True):
        test = satterthwaite.contrast(fit, row)
        assert test.standard_error == pytest.approx(coefficient["se_plain"], rel=ESTIMATE)
        assert test.df == pytest.approx(df, rel=DF)


@pytest.mark.parametrize("name", WITH_F)
def test_joint_tests_kenward_roger(name: str) -> None:
    _, adjusted = fitted(name)
    for expected in reference.expected(name)["F_KR"]:
        test = adjusted.f_test(reference.model(name).marginal_hypothesis(expected["term"]))
        assert test.df_numerator == expected["num"]
        assert test.f == pytest.approx(expected["F"], rel=ESTIMATE)
        assert test.df_denominator == pytest.approx(expected["den"], rel=DF)
        assert test.p == pytest.approx(expected["p"], rel=1e-4)


@pytest.mark.parametrize("name", WITH_JOINT_SATTERTHWAITE)
def test_joint_tests_satterthwaite(name: str) -> None:
    """With the rows lmerTest used: this df, unlike the others, depends on how the hypothesis is written."""
    fit, _ = fitted(name)
    rows = reference.expected(name)["hypotheses"]
    for expected in reference.expected(name)["F_satterthwaite"]:
        test = satterthwaite.f_test(fit, np.atleast_2d(np.array(rows[expected["term"]], dtype=float)))
        assert test.f == pytest.approx(expected["F"], rel=ESTIMATE)
        assert test.df_denominator == pytest.approx(expected["den"], rel=DF)


def level_of(label: object, levels: list[str]) -> str:
    """R prints numeric levels as numbers: 0 for 0.0."""
    for level in levels:
        try:
            same = float(level) == float(str(label))
        except ValueError:
            same = level == str(label)
        if same:
            return level
    raise KeyError(label)


@pytest.mark.parametrize("name", WITH_MEANS)
def test_marginal_means_and_their_differences(name: str) -> None:
    _, adjusted = fitted(name)
    model, expected = reference.model(name), reference.expected(name)
    shown = next(key for key in expected["emmeans"][0] if key not in {"emmean", "SE", "df", "lower.CL", "upper.CL"})
    factor = {value: key for key, value in model.shown.items()}.get(shown, shown)
    weights = model.marginal_means(factor)
    order = [level_of(entry[shown], model.levels[factor]) for entry in expected["emmeans"]]
    for level, entry in zip(order, expected["emmeans"], strict=True):
        test = adjusted.contrast(weights[level])
        assert test.estimate == pytest.approx(entry["emmean"], rel=ESTIMATE)
        assert test.standard_error == pytest.approx(entry["SE"], rel=ESTIMATE)
        assert test.df == pytest.approx(entry["df"], rel=DF)
    first = [(order[j], order[0]) for j in range(1, len(order))]
    pairs = [(a, b) for i, a in enumerate(order) for b in order[i + 1 :]]
    against_first = len(expected["contrasts"]) == len(first) and len(order) > 2 and len(pairs) != len(first)
    against_first |= expected["contrasts"][0]["contrast"].endswith(("- trt111", "- none"))
    for (one, other), entry in zip(first if against_first else pairs, expected["contrasts"], strict=True):
        test = adjusted.contrast(weights[one] - weights[other])
        assert test.estimate == pytest.approx(entry["estimate"], rel=ESTIMATE)
        assert test.standard_error == pytest.approx(entry["SE"], rel=ESTIMATE)
        assert test.df == pytest.approx(entry["df"], rel=DF)
        assert test.p == pytest.approx(entry["p.value"], rel=1e-4, abs=1e-30)


def test_the_two_df_differ_where_they_should() -> None:
    """One strip lost: expected information gives 6.15064, observed 6.28496 (pbkrtest 0.5.2, lmerTest 3.1.3)."""
    fit, adjusted = fitted("sim16_lost5")
    assert adjusted.contrast([0, 1]).df == pytest.approx(6.15064, abs=5e-6)
    assert satterthwaite.contrast(fit, [0, 1]).df == pytest.approx(6.28496, abs=5e-6)
