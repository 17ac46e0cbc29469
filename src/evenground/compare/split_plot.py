"""Two factors compared at once: strips in whole plots, each factor judged by the spread it was drawn against."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from evenground.basis.errors import CannotCompareError
from evenground.compare.estimates import Estimates, Likelihood, estimate
from evenground.compare.factor_effect import FactorEffect, FactorTest, JudgedBy
from evenground.compare.randomisation import randomisation_test
from evenground.compare.randomisation_result import RandomisationTest
from evenground.compare.reference_set import ReferenceSet
from evenground.compare.shared import one_figure_reason, shared_covariance
from evenground.compare.values import StripValues
from evenground.numerics.split_plot import Effect, SplitPlotFit, effect_rows, fit_split_plot
from evenground.numerics.t_distribution import quantile, two_sided_p

Floats = NDArray[np.float64]
# Strips that were weighed together are named with a plus between their numbers.
_TOGETHER = "+"


@dataclass(frozen=True)
class SplitPlot:
    """How the strips of a trial of two factors were laid out and drawn.

    Attributes
    ----------
    whole, within : str
        What the factors are called.
    whole_levels, within_levels : tuple of str
        Their levels in words; those of the baseline first.
    letters : tuple of tuple of str
        Method of each whole level (down) and level within (across).
    plots : mapping of str to str
        Whole plot of each strip.
    drawn : mapping of str to str
        Method drawn for each strip.
    references : mapping of str to ReferenceSet, or None
        What the draw allowed, by level in words; strips of a whole level are whole plots. A level that is not in the
        mapping gets no test. None where the order came without a layout: then all orders of whole plots within blocks
        are taken, and all orders of strips within whole plots.
    """

    whole: str
    within: str
    whole_levels: tuple[str, ...]
    within_levels: tuple[str, ...]
    letters: tuple[tuple[str, ...], ...]
    plots: Mapping[str, str]
    drawn: Mapping[str, str] = field(default_factory=dict)
    references: Mapping[str, ReferenceSet] | None = field(default_factory=dict)

    @property
    def cells(self) -> tuple[str, ...]:
        """Methods in the order of cells: whole level by whole level."""
        return tuple(letter for row in self.letters for letter in row)

    def lost(self, strips: StripValues) -> tuple[str, ...]:
        """Return the methods of which no strip is left."""
        return tuple(sorted(set(self.cells) - set(strips.methods)))

    def plot_of(self, strip: str) -> str:
        """Return the whole plot of a strip; of strips weighed together, that of the first."""
        try:
            return self.plots[strip if strip in self.plots else strip.split(_TOGETHER, maxsplit=1)[0]]
        except KeyError as error:
            raise CannotCompareError(f"strip {strip} belongs to no whole plot.") from error


@dataclass(frozen=True)
class SplitEstimates:
    """The model's answer for methods, and the fit the factors are read from.

    Attributes
    ----------
    estimates : Estimates
        Means and gains.
    fit : SplitPlotFit
        Cells in the order of ``SplitPlot.cells``.
    notes : tuple of str
        How it was analysed, in plain words.
    """

    estimates: Estimates
    fit: SplitPlotFit
    notes: tuple[str, ...]


def estimate_split(rows: StripValues, strips: StripValues, baseline: str, split: SplitPlot) -> SplitEstimates:
    """Estimate means and gains of a trial of two factors.

    Parameters
    ----------
    rows : StripValues
        One row a strip or a plot [outcome unit].
    strips : StripValues
        The strip means of the same rows.
    baseline : str
        Baseline method.
    split : SplitPlot
        How the strips were laid out. A strip sown with another row pattern than its whole plot counts as a whole plot
        of its own.

    Returns
    -------
    SplitEstimates

    Raises
    ------
    CannotCompareError
        If a method of the table has no strip left, or too little is left to judge by.

    Source: `evenground.numerics.split_plot`.
    """
    missing = split.lost(strips)
    if missing:
        raise CannotCompareError(
            f"of method {', '.join(missing)} too little was weighed, so {split.whole} and {split.within} cannot be "
            "told apart; compare the other methods in a table of their own."
        )
    level = {letter: (u, w) for u, row in enumerate(split.letters) for w, letter in enumerate(row)}
    levels = len(split.whole_levels), len(split.within_levels)
    upper, lower = (np.array([level[m][i] for m in strips.methods]) for i in (0, 1))
    plots = [f"{split.plot_of(s)}:{u}" for s, u in zip(strips.strips, upper, strict=True)]
    try:
        fit = fit_split_plot(strips.y, upper, lower, _codes(strips.blocks), _codes(plots), levels)
    except ValueError as error:
        raise CannotCompareError(f"these strips cannot be compared: {error}.") from error
    plain, methods, others = estimate(rows, strips, baseline), strips.method_order, []
    cell = {letter: i for i, letter in enumerate(split.cells)}
    for method in methods:
        if method != baseline:
            row = np.zeros(len(cell))
            row[cell[method]], row[cell[baseline]] = 1.0, -1.0
            others.append(row)
    contrasts = np.array(others)
    tests = [fit.contrast(row) for row in contrasts]
    counts = fit.weights.astype(bool).any(0)
    number = np.array([sum(np.array(strips.methods)[counts] == m) for m in split.cells])
    factors = np.abs(contrasts) @ (1.0 / np.maximum(number, 1))
    random: Literal["random", "fixed"] = "random" if fit.block_variance > 0 else "fixed"
    estimates = Estimates(
        methods,
        fit.means[[cell[m] for m in methods]],
        np.array([test.estimate for test in tests]),
        fit.covariance(contrasts),
        np.array([test.df for test in tests]),
        np.array([fit.satterthwaite_df(row) for row in contrasts]),
        random,
        fit.block_variance,
        fit.residual_variance,
        plain.fixed,
        weights=contrasts @ fit.weights,
        likelihoods=tuple(
            Likelihood(test.estimate, float(f), test.standard_error**2 / float(f), test.df)
            for test, f in zip(tests, factors, strict=True)
        ),
    )
    return SplitEstimates(estimates, fit, _notes(split, fit, strips))


def _codes(names: tuple[str, ...] | list[str]) -> NDArray[np.intp]:
    order = {name: i for i, name in enumerate(dict.fromkeys(names))}
    return np.array([order[name] for name in names], dtype=np.intp)


def _notes(split: SplitPlot, fit: SplitPlotFit, strips: StripValues) -> tuple[str, ...]:
    said = [
        f"The {split.whole} is judged by the spread of whole plots, the {split.within} by the spread of strips within "
        "them; the difference of two methods by what it carries of both.",
        "Randomisation tests are those of the factors: no order of the draw swaps two single methods alone.",
    ]
    left = len(strips.block_order) - fit.blocks
    if fit.whole is not None and left:
        said.append(
            f"Whole plots differed less than their own strips, so only the {fit.blocks} complete blocks were analysed."
        )
    return tuple(said)


def factor_effects(
    strips: StripValues, split: SplitPlot, fit: SplitPlotFit, level: float, rng: np.random.Generator
) -> tuple[FactorEffect, ...]:
    """Return what came out for each factor and for the two together.

    Parameters
    ----------
    strips : StripValues
        One row a strip [outcome unit].
    split : SplitPlot
        How they were laid out and drawn.
    fit : SplitPlotFit
        From `estimate_split`.
    level : float
        Level of the intervals [1].
    rng : numpy.random.Generator
        Used only where a reference set is too large to count.

    Returns
    -------
    tuple of FactorEffect
        The factor on whole plots, the factor within, the two together; each level against the baseline's.

    Source: Yates (1935); randomisation tests over each of the two draws, the other left as it is.
    """
    cells = split.cells
    no_p = any(one_figure_reason(strips, m, cells[0]) for m in cells)
    tests = {} if no_p else _tests(strips, split, rng)
    out: list[FactorEffect] = []
    for name, rows in ((n, effect_rows(fit.levels, n)) for n in ("whole", "within", "both")):
        for i, row in enumerate(rows):
            factor, above, below = _words(split, name, i)
            judged: JudgedBy = "whole plots" if name == "whole" else "strips within whole plots"
            own = fit.contrast(row)
            extra = float(shared_covariance(strips, (row @ fit.weights)[None])[0, 0])
            variance = own.standard_error**2
            error = math.sqrt(variance + extra)
            df = own.df * ((variance + extra) / variance) ** 2 if extra and variance else own.df
            t = own.estimate / error if error > 0 else math.copysign(math.inf, own.estimate) if own.estimate else 0.0
            half = error * quantile(0.5 + 0.5 * level, df)
            out.append(
                FactorEffect(
                    factor=factor,
                    level=above,
                    against=below,
                    effect=own.estimate,
                    standard_error=error,
                    df=df,
                    t=t,
                    p=None if no_p or error == 0 else two_sided_p(t, df),
                    interval=(own.estimate - half, own.estimate + half),
                    interval_level=level,
                    judged_by=judged,
                    randomisation=tests.get((factor, above)) if name != "both" else None,
                )
            )
    return tuple(out)


def factor_tests(strips: StripValues, split: SplitPlot, fit: SplitPlotFit) -> tuple[FactorTest, ...]:
    """Return the test of each factor over all its levels, and of the two together.

    Parameters
    ----------
    strips : StripValues
        One row a strip [outcome unit].
    split : SplitPlot
        How they were laid out.
    fit : SplitPlotFit
        From `estimate_split`.

    Returns
    -------
    tuple of FactorTest
        Empty where strips have errors in common, which no F test carries.

    Source: Yates (1935): the factor on whole plots against their error, the others against that within.
    """
    if strips.shared:
        return ()
    names: tuple[tuple[Effect, str], ...] = (
        ("whole", split.whole),
        ("within", split.within),
        ("both", f"{split.within} by {split.whole}"),
    )
    found = [(words, fit.effect(name)) for name, words in names]
    return tuple(FactorTest(words, t.f, t.df_numerator, t.df_denominator, t.p) for words, t in found)


def _words(split: SplitPlot, name: str, i: int) -> tuple[str, str, str]:
    whole, within = split.whole_levels, split.within_levels
    if name == "whole":
        return split.whole, whole[i + 1], whole[0]
    if name == "within":
        return split.within, within[i + 1], within[0]
    steps = len(within) - 1
    step = f"the step from {within[0]} to {within[i % steps + 1]} in {whole[i // steps + 1]}"
    return f"{split.within} by {split.whole}", step, f"the same step in {whole[0]}"


def _tests(strips: StripValues, split: SplitPlot, rng: np.random.Generator) -> dict[tuple[str, str], RandomisationTest]:
    """Randomisation test of each level of both factors against the baseline's, over what its own draw allowed."""
    sound = _as_drawn(strips, split)
    level = {letter: (u, w) for u, row in enumerate(split.letters) for w, letter in enumerate(row)}
    parts = [i for members in sound.values() for i in members]
    by_strip = StripValues(
        tuple(strips.strips[i] for i in parts),
        tuple(split.within_levels[level[strips.methods[i]][1]] for i in parts),
        tuple(plot for plot, members in sound.items() for _ in members),
        tuple(strips.outcome[i] for i in parts),
    )
    by_plot = StripValues(
        tuple(sound),
        tuple(split.whole_levels[level[strips.methods[members[0]]][0]] for members in sound.values()),
        tuple(strips.blocks[members[0]] for members in sound.values()),
        tuple(float(np.mean([strips.outcome[i] for i in members])) for members in sound.values()),
    )
    found: dict[tuple[str, str], RandomisationTest] = {}
    for factor, values, levels in (
        (split.whole, by_plot, split.whole_levels),
        (split.within, by_strip, split.within_levels),
    ):
        for name in levels[1:]:
            reference = None if split.references is None else split.references.get(name)
            if not values.strips or (split.references is not None and reference is None):
                continue
            test = randomisation_test(values, name, levels[0], reference, rng)
            if test is not None:
                found[factor, name] = test
    return found


def _as_drawn(strips: StripValues, split: SplitPlot) -> dict[str, list[int]]:
    """Rows of each whole plot whose strips were all sown and weighed as drawn, each by itself."""
    place = {name: i for i, name in enumerate(strips.strips)}
    members: dict[str, list[str]] = {}
    for strip, plot in split.plots.items():
        members.setdefault(plot, []).append(strip)
    return {
        plot: [place[s] for s in names]
        for plot, names in members.items()
        if all(s in place and strips.methods[place[s]] == split.drawn.get(s) for s in names)
    }
