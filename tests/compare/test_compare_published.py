"""The comparison against published analyses; the source of each number stands beside it."""

from __future__ import annotations

import math

import pytest
from published_trials import REFERENCE, darwin, paired, read, sas_blocks, sim16, strips, student, with_totals

from evenground.compare.compare import compare
from evenground.numerics.t_distribution import quantile


def test_darwins_pairs_give_the_paired_t_and_fishers_exact_count():
    # Printed with an open copy of the data: t = 2.148, 14 df, p = 0.0497, 95 % interval 0.003899165 to 5.229434169;
    # Fisher, The Design of Experiments (1935) section 21: 863 of 32768 one-sided, so 1726 two-sided.
    result = compare(darwin(), "self", level=0.95)
    one = result.comparisons[0]
    assert result.block_effects == "fixed"  # the unbounded block variance is negative
    assert result.block_variance < 0
    assert one.gain == pytest.approx(2.616667, abs=5e-7)
    assert (one.t, one.df) == (pytest.approx(2.14799, abs=5e-6), 14)
    assert one.p == pytest.approx(0.049703, abs=5e-7)
    assert one.interval == (pytest.approx(0.003899165, abs=5e-10), pytest.approx(5.229434169, abs=5e-10))
    assert one.randomisation.p == 1726 / 32768
    assert one.randomisation.exact
    assert one.randomisation.size == 32768
    # a flat prior is the t interval, INFERENCE contract: 1e-6
    assert one.posterior.theta.interval(0.95) == pytest.approx(one.interval, rel=1e-6)


def test_three_treatments_in_three_blocks():
    # SAS/STAT User's Guide, PROC ANOVA getting started: MSE 6.297778 on 4 df, means 36.8667, 41.2, 32.0, LSD 5.6890.
    result = compare(sas_blocks(), "A", level=0.95)
    assert result.residual_variance == pytest.approx(6.297778, abs=5e-7)
    assert result.method_means == pytest.approx({"A": 36.8667, "B": 41.2, "C": 32.0}, abs=5e-5)
    for one in result.comparisons:
        assert one.df == pytest.approx(4, abs=1e-9)
        assert (one.interval[1] - one.interval[0]) / 2 == pytest.approx(5.6890, abs=5e-5)


def test_six_varieties_in_four_blocks_from_totals():
    # Textbook chapter "Research Methodology" (P. K. Sahu, name from memory): error SS 181.270 on 15 df,
    # critical difference 5.238 with t rounded to 2.131, 5.239 with the exact t.
    # The cells are made here so that they fit the printed totals.
    values = with_totals([122.1, 130.9, 122.1, 61.7, 66.3, 91.1], [134.3, 168.7, 150.4, 140.8], 181.270)
    result = compare(values, "T0", level=0.95)
    assert result.residual_variance == pytest.approx(12.0847, abs=5e-5)
    for one in result.comparisons:
        assert (one.df, one.standard_error * quantile(0.975, 15)) == (pytest.approx(15), pytest.approx(5.239, abs=5e-4))


def test_four_treatments_in_two_blocks_see_little():
    # Hildebrand & Poey (1985) table III-7: error mean square 0.2967 on 3 df; blocks SS 0.98, treatments SS 4.27.
    # Treatment totals are made to give that sum of squares; block totals 19.0 and 21.8 are printed.
    spread = math.sqrt(4.27 / 2 / 20)
    totals = [10.2 + 2 * spread * k for k in (-3, -1, 1, 3)]
    result = compare(with_totals(totals, [19.0, 21.8], 0.89), "T0")
    assert result.residual_variance == pytest.approx(0.2967, abs=5e-5)
    assert all(c.df == pytest.approx(3) for c in result.comparisons)
    assert all(c.randomisation.smallest == 0.5 for c in result.comparisons)  # two blocks: 2 of 4 orders


def test_students_barleys_on_51_farm_years():
    # Computed with R from the data of Student (1923): mean 13.372549, SE 3.401033, t 3.93191 on 50 df, p 0.00026.
    result = compare(student(), "Goldthorpe")
    one = result.comparisons[0]
    assert one.gain == pytest.approx(13.372549, abs=5e-7)
    assert one.standard_error == pytest.approx(3.401033, abs=5e-7)
    assert (one.t, one.df) == (pytest.approx(3.93191, abs=5e-6), pytest.approx(50))
    assert one.p == pytest.approx(0.00026, abs=5e-6)
    # 51 pairs are more than two lists of half sums hold, but whole numbers have few distinct sums: still exact
    assert one.randomisation.exact
    assert one.randomisation.size == 2**51
    assert one.randomisation.p == pytest.approx(one.p, rel=0.5)


# lme4 + pbkrtest, script and results in tests/cases/r; tolerances: 1e-5 on estimate, standard error and t, 1e-4 on df.
@pytest.mark.parametrize(
    ("name", "drop"), [("sim16", ()), ("sim16_lost5", (5,)), ("sim16_lost5_6_11", (5, 6, 11))], ids=str
)
def test_sixteen_strips_complete_and_with_strips_lost(name, drop):
    fixed = REFERENCE[name]["fixed"][1]
    result = compare(sim16(drop), "A")
    one = result.comparisons[0]
    assert result.block_effects == "random"
    assert one.gain == pytest.approx(fixed["estimate"], rel=1e-5)
    assert one.standard_error == pytest.approx(fixed["se_KR"], rel=1e-5)
    assert one.t == pytest.approx(fixed["t"], rel=1e-5)
    assert one.df == pytest.approx(fixed["df_KR"], rel=1e-4)
    # lmerTest differentiates numerically
    assert one.df_satterthwaite == pytest.approx(REFERENCE[name]["satterthwaite_df"]["trtB"], rel=1e-4)
    assert result.residual_variance == pytest.approx(REFERENCE[name]["variance_components"]["Residual"], rel=1e-5)
    assert result.block_variance == pytest.approx(REFERENCE[name]["variance_components"]["block"], rel=1e-5)


def test_blocks_at_the_bound_are_fixed():
    # Block means forced equal: R's paired t gives 0.198395 (tests/cases/r); a variance clipped at zero would not.
    rows = [(r["trt"], r["block"], float(r["y"])) for r in read("boundary_blocks.csv")]
    result = compare(strips(rows), "A")
    assert result.block_effects == "fixed"
    assert result.comparisons[0].p == pytest.approx(REFERENCE["boundary_zero_block"]["paired_t"]["p"], abs=5e-7)
    assert result.comparisons[0].p == pytest.approx(0.198395, abs=5e-7)


def test_oats_two_varieties_exact_count():
    # Yates' oats, plot means of two varieties in six blocks; exact count made in R.
    exact = REFERENCE["oats_two_variety_plots"]["exact_perm"]
    means: dict[tuple[str, str], list[float]] = {}
    for r in read("nlme_Oats.csv"):
        means.setdefault((r["Variety"], r["Block"]), []).append(float(r["yield"]))
    blocks = sorted({b for _, b in means})
    first = [sum(means["Victory", b]) / 4 for b in blocks]
    other = [sum(means["Golden Rain", b]) / 4 for b in blocks]
    result = compare(paired(first, other, ("Victory", "Golden Rain")), "Golden Rain")
    one = result.comparisons[0]
    assert one.randomisation.p == exact["count_ge"] / exact["count_all"]
    assert one.t == pytest.approx(REFERENCE["oats_two_variety_plots"]["paired_t"]["t"], rel=1e-9)


def test_vines_of_one_plot_are_not_replicates():
    # kiwishade (DAAG; Snelgar, Manson & Martin 1992): 3 blocks x 4 shade plots x 4 vines; R: lme4 + pbkrtest.
    rows = read("DAAG_kiwishade.csv")
    from evenground.compare.values import StripValues

    values = StripValues(
        tuple(r["plot"] for r in rows),
        tuple(r["shade"] for r in rows),
        tuple(r["block"] for r in rows),
        tuple(float(r["yield"]) for r in rows),
    )
    result = compare(values, "none")
    assert result.strips == 12
    by_term = {f["term"].removeprefix("shade"): f for f in REFERENCE["kiwishade"]["fixed"]}
    for one in result.comparisons:
        assert one.gain == pytest.approx(by_term[one.method]["estimate"], rel=1e-5)
        assert one.standard_error == pytest.approx(by_term[one.method]["se_KR"], rel=1e-5)
        assert one.df == pytest.approx(by_term[one.method]["df_KR"], rel=1e-4)
