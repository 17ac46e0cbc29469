"""Split plots and a lattice with published analyses of variance.

Stroup (1989), Applications of Mixed Models in Agriculture, Southern Cooperative Series Bulletin 343 (24 values; a
standard worked example of statistics manuals); Yates (1935) oats; Gilmour, Cullis & Verbyla (1997) lattice. Printed
digits, so the tolerance is half a unit of the last digit printed, unless a line says otherwise.
"""

import numpy as np
import pytest
from tests.cases import reference

from evenground.numerics import kenward_roger, mixed, satterthwaite


def fit_of(name: str) -> tuple[reference.Model, mixed.MixedFit, kenward_roger.KenwardRoger]:
    model = reference.model(name)
    fit = mixed.fit(model.y, model.design(), model.factors)
    return model, fit, kenward_roger.adjust(fit)


class TestStroupComplete:
    def test_variances_are_the_analysis_of_variance(self) -> None:
        """Mean squares 414.5, 40.125, 9.361111: components by expectation, exact."""
        _, fit, _ = fit_of("stroup")
        block_a, block = fit.variances
        assert block == pytest.approx((414.5 - 40.125) / 6, rel=1e-10)
        assert block_a == pytest.approx((40.125 - 84.25 / 9) / 2, rel=1e-10)
        assert fit.residual_variance == pytest.approx(84.25 / 9, rel=1e-10)
        assert -2 * fit.log_likelihood == pytest.approx(119.7618, abs=5e-5)

    @pytest.mark.parametrize(
        ("term", "f", "df", "p"),
        [("a", 4.0696, (2, 6), 0.07642), ("b", 19.3887, (1, 9), 0.001712), ("a:b", 4.0193, (2, 9), 0.05658)],
    )
    def test_f_tests(self, term: str, f: float, df: tuple[int, int], p: float) -> None:
        model, _, adjusted = fit_of("stroup")
        test = adjusted.f_test(model.marginal_hypothesis(term))
        assert test.f == pytest.approx(f, abs=5e-5)
        assert (test.df_numerator, test.df_denominator) == pytest.approx(df, rel=1e-9)
        assert test.p == pytest.approx(p, abs=5e-6)

    def test_differences_between_whole_plot_levels(self) -> None:
        model, _, adjusted = fit_of("stroup")
        means = model.marginal_means("a")
        for one, other, gain, p in [("1", "2", -1.25, 0.7067), ("1", "3", 7.125, 0.0655), ("2", "3", 8.375, 0.0383)]:
            test = adjusted.contrast(means[one] - means[other])
            assert test.estimate == pytest.approx(gain, abs=1e-10)
            assert test.standard_error == pytest.approx(3.167215, abs=5e-7)
            assert test.df == pytest.approx(6.0, rel=1e-9)
            assert test.p == pytest.approx(p, abs=5e-5)

    def test_difference_between_sub_plot_levels(self) -> None:
        model, _, adjusted = fit_of("stroup")
        means = model.marginal_means("b")
        test = adjusted.contrast(means["1"] - means["2"])
        assert test.standard_error == pytest.approx(1.249074, abs=5e-7)
        assert test.df == pytest.approx(9.0, rel=1e-9)

    def test_mean_over_a_random_sample_of_blocks(self) -> None:
        model, _, adjusted = fit_of("stroup")
        test = adjusted.contrast(model.marginal_means("a")["1"])
        assert test.estimate == pytest.approx(32.875, abs=1e-10)
        assert test.standard_error == pytest.approx(4.540, abs=5e-4)
        assert test.df == pytest.approx(4.20, abs=5e-3)

    def test_whole_plot_levels_at_one_sub_plot_level(self) -> None:
        """Two strata mix: Satterthwaite's own formula (MSab + MSe)^2 / (MSab^2 / 6 + MSe^2 / 9)."""
        model, _, adjusted = fit_of("stroup")
        rows = model.design([{"a": "1", "b": "1"}, {"a": "3", "b": "1"}])
        test = adjusted.contrast(rows[0] - rows[1])
        whole, sub = 40.125, 84.25 / 9
        assert test.df == pytest.approx((whole + sub) ** 2 / (whole**2 / 6 + sub**2 / 9), rel=1e-9)
        assert test.estimate == pytest.approx(11.0, abs=1e-10)
        assert test.standard_error == pytest.approx(3.517318, abs=5e-7)
        assert (test.t, test.p) == pytest.approx((3.127, 0.0125), abs=5e-4)


class TestStroupOnePlotMissing:
    """Block 1, a1, b1 missing; numbers worked out by pbkrtest and lmerTest."""

    def test_variances(self) -> None:
        """The printed figures end an iterative search that stopped 1e-7 relative from the top."""
        _, fit, _ = fit_of("stroup_missing")
        assert [*fit.variances[::-1], fit.residual_variance] == pytest.approx(
            [50.993793, 12.903240, 6.696335], rel=2e-7
        )

    @pytest.mark.parametrize(
        ("term", "kr", "satt"),
        [
            ("a", (4.53255, 5.97277, 0.06345), (4.53407, 6.14328, 0.06173)),
            ("b", (17.44735, 8.19739, 0.00293), (17.66004, 8.27527, 0.00277)),
            ("a:b", (4.12699, 8.18104, 0.05764), (4.13164, 8.25732, 0.05708)),
        ],
    )
    def test_both_methods(self, term: str, kr: tuple[float, ...], satt: tuple[float, ...]) -> None:
        model, fit, adjusted = fit_of("stroup_missing")
        test = adjusted.f_test(model.marginal_hypothesis(term))
        assert (test.f, test.df_denominator, test.p) == pytest.approx(kr, abs=6e-6)
        rows = np.atleast_2d(np.array(reference.expected("stroup_missing")["hypotheses"][term], dtype=float))
        other = satterthwaite.f_test(fit, rows)
        assert (other.f, other.df_denominator, other.p) == pytest.approx(satt, abs=6e-6)


class TestOats:
    def test_with_interaction(self) -> None:
        """SDs 14.645, 10.299, 13.307 as long printed in the literature (the printing from memory)."""
        model, fit, adjusted = fit_of("oats_splitplot")
        variety_plots, blocks = fit.variances
        assert (blocks, variety_plots, fit.residual_variance) == pytest.approx((214.477, 106.062, 177.083), abs=5e-4)
        assert np.sqrt([blocks, variety_plots, fit.residual_variance]) == pytest.approx(
            [14.645, 10.299, 13.307], abs=5e-4
        )
        assert fit.log_likelihood == pytest.approx(-264.51425, abs=5e-6)
        nitrogen, variety = (adjusted.f_test(model.marginal_hypothesis(term)) for term in ("nf", "Variety"))
        both = adjusted.f_test(model.marginal_hypothesis("nf:Variety"))
        # 37.6857 is printed for 37.68565: a whole unit of the last digit, as that fit is iterative
        assert (nitrogen.f, variety.f, both.f) == pytest.approx((37.6857, 1.48534, 0.30282), abs=1e-4)
        assert (variety.p, both.p) == pytest.approx((0.27239, 0.9322), abs=5e-5)
        assert (nitrogen.df_denominator, variety.df_denominator, both.df_denominator) == pytest.approx((45, 10, 45))

    def test_additive(self) -> None:
        model, fit, adjusted = fit_of("oats_splitplot_main")
        assert [*fit.variances, fit.residual_variance] == pytest.approx([109.693, 214.477, 162.559], abs=5e-4)
        assert fit.log_likelihood == pytest.approx(-284.03438, abs=5e-6)
        nitrogen = adjusted.f_test(model.marginal_hypothesis("nf"))
        assert nitrogen.f == pytest.approx(41.05283, abs=5e-6)
        assert nitrogen.p == pytest.approx(1.23e-13, rel=5e-3)
        means, rates = model.marginal_means("Variety"), model.marginal_means("nitro")
        between = adjusted.contrast(means["Victory"] - means["Marvellous"])
        within = adjusted.contrast(rates["0.6"] - rates["0.0"])
        assert (between.standard_error, within.standard_error) == pytest.approx((7.08, 4.25), abs=5e-3)
        assert (between.df, within.df) == pytest.approx((10, 51))


def test_balanced_lattice_has_one_standard_error_for_all_differences() -> None:
    """Slate Hall 1978: every pair of 25 varieties meets equally often in rows and columns of the replicates.

    That the errors are all equal is the definition of balance (Yates 1936); their size and df are pbkrtest's
    (cases/r/more_models.json).
    """
    _, fit, adjusted = fit_of("slate_hall_lattice")
    expected = reference.expected("slate_hall_lattice")
    rows = np.vstack([np.eye(25)[1:], [np.eye(25)[i] - np.eye(25)[j] for i in range(2, 25) for j in range(1, i)]])
    tests = [adjusted.contrast(row) for row in rows]
    assert len(tests) == 300
    errors, freedom = np.array([test.standard_error for test in tests]), np.array([test.df for test in tests])
    assert errors == pytest.approx(np.full(300, expected["fixed"][1]["se_KR"]), rel=1e-6)
    assert freedom == pytest.approx(np.full(300, expected["fixed"][1]["df_KR"]), rel=1e-6)
    assert np.ptp(errors) < 1e-9 * errors[0]
    assert not fit.singular


def test_lattice_in_field_rows_and_columns() -> None:
    """The same field with crossed random rows and columns of the whole field (lme4 and pbkrtest)."""
    model, fit, adjusted = fit_of("slate_hall_rows_columns")
    expected = reference.expected("slate_hall_rows_columns")
    components = expected["variance_components"]
    assert fit.variances == pytest.approx([components["row"], components["col"]], rel=1e-6)
    test = adjusted.f_test(model.marginal_hypothesis("variety"))
    assert (test.f, test.df_denominator) == pytest.approx(
        (expected["F_KR"][0]["F"], expected["F_KR"][0]["den"]), rel=1e-6
    )


def test_one_way_maize_blocks() -> None:
    """Maindonald & Braun, Data Analysis and Graphics: between sites 2.368, within 0.578."""
    _, fit, _ = fit_of("ant111b")
    assert (fit.variances[0], fit.residual_variance) == pytest.approx((2.368, 0.578), abs=5e-4)
