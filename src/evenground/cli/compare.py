"""Compare the methods in any table of strips with the baseline.

One row a strip, or, with --strip, rows are plots that name their strip. Empty outcomes and NA stay missing.
Two factors in a split plot: --whole-factor names the column of what was drawn for whole plots, --within-factor that of
what was changed within them; a method is then called by its two levels, such as "twin/8", unless --method names it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from evenground.adapters.number_style import STYLES, NumberStyle
from evenground.adapters.strip_table import Columns, read_strip_table
from evenground.adapters.two_factor_table import FactorColumns, read_two_factor_table
from evenground.basis.errors import InputError, problem
from evenground.cli.output import note, print_json
from evenground.compare.compare import compare
from evenground.compare.comparison import Comparison, FactorEffect, FactorTest, MethodComparison, Priors
from evenground.compare.reference_set import ReferenceSet
from evenground.compare.values import StripValues
from evenground.decide.adjusted_gain import AdjustedGain, adjusted_gains


def run(
    file: Annotated[Path, typer.Argument(help="Table of strips: CSV with commas, semicolons or tabs.")],
    outcome: Annotated[str, typer.Option(help="Column with the value of each strip.")],
    block: Annotated[str, typer.Option(help="Column with the block.")],
    baseline: Annotated[str, typer.Option(help="The method the others are compared with.")],
    method: Annotated[str | None, typer.Option(help="Column with the method.")] = None,
    whole_factor: Annotated[str | None, typer.Option(help="Two factors: column of the one on whole plots.")] = None,
    within_factor: Annotated[str | None, typer.Option(help="Two factors: column of the one changed within.")] = None,
    whole_plot: Annotated[
        str | None, typer.Option(help="Column with the whole plot; else each level is one whole plot of a block.")
    ] = None,
    strip: Annotated[str | None, typer.Option(help="Column with the strip, where rows are plots.")] = None,
    plants: Annotated[
        str | None, typer.Option(help="Column with plants/m2: the gain at equal plants is shown beside the plain one.")
    ] = None,
    level: Annotated[float, typer.Option(help="Level of the intervals, a fraction.")] = 0.9,
    prior_gain: Annotated[
        tuple[float, float] | None, typer.Option(help="Assumed gain before the data: mean and SD (else flat).")
    ] = None,
    prior_strip_error: Annotated[
        tuple[float, float] | None, typer.Option(help="Assumed strip error: median and SD of its logarithm.")
    ] = None,
    seed: Annotated[int, typer.Option(help="Seed, used only where the orders are too many to count.")] = 0,
    number_style: Annotated[str | None, typer.Option(help='How numbers are written, such as "1.234,5".')] = None,
    as_json: Annotated[bool, typer.Option("--json", help="JSON on standard output.")] = False,
) -> None:
    """See the module docstring, which is the help text."""
    priors = _priors(level, prior_gain, prior_strip_error)
    style = _style(number_style)
    factors = _factors(method, whole_factor, within_factor, whole_plot)
    split = None
    if factors is None:
        columns = Columns(outcome, method or "", block, strip)
        values, notes = read_strip_table(file, columns, baseline, number_style=style)
    else:
        columns = Columns(outcome, method or factors.method, block, strip)
        values, split, notes = read_two_factor_table(file, columns, factors, baseline, number_style=style)
    for text in notes:
        note(text)
    # Two factors: no order of the draw swaps two single methods alone, so only the factors have such a test.
    reference: dict[str, ReferenceSet] | None = None if split is None else {}
    result = compare(values, baseline, level=level, priors=priors, reference=reference, seed=seed, split=split)
    equal: tuple[AdjustedGain, ...] = ()
    if plants is not None:
        _one_row_a_strip(plants, columns, factors)
        counted, _ = read_strip_table(file, replace(columns, outcome=plants), baseline, number_style=style)
        equal = _equal_plants(values, counted, baseline, level, outcome)
    if as_json:
        more = {} if plants is None else {"gains_at_equal_plants": [one.as_dict() for one in equal]}
        print_json(result.as_dict() | more)
    else:
        typer.echo("\n".join([*in_words(result, outcome), *(f"\nAt equal plants/m2: {one.words}" for one in equal)]))


def _one_row_a_strip(plants: str, columns: Columns, factors: FactorColumns | None) -> None:
    """Refuse plants/m2 in a table whose rows are plots or that has two factors."""
    if columns.strip is not None or factors is not None:
        text, allowed = "plants/m2 are read where each row is one strip.", "without --strip and --whole-factor"
        raise InputError([problem(text, field="--plants", given=plants, allowed=allowed)])


def _equal_plants(
    values: StripValues, counted: StripValues, baseline: str, level: float, outcome: str
) -> tuple[AdjustedGain, ...]:
    """Return the gains at equal plants/m2, or say that they cannot be told."""
    found = adjusted_gains(values, counted, baseline, level, outcome)
    if not found:
        note("The gain at equal plants/m2 cannot be told: too few strips, or plants do not differ within blocks.")
    return found


def _factors(method: str | None, whole: str | None, within: str | None, whole_plot: str | None) -> FactorColumns | None:
    """Return the columns of two factors; None where one is compared, which needs the column of the method."""
    if whole is not None and within is not None:
        if whole == within:
            text = "the two factors need a column each."
            raise InputError([problem(text, field="--within-factor", given=within, allowed="another column")])
        return FactorColumns(whole, within, whole_plot)
    if whole is not None or within is not None or whole_plot is not None:
        field = "--whole-factor" if whole is None else "--within-factor"
        text = "two factors need the columns of both."
        raise InputError([problem(text, field=field, given="nothing", allowed="a column of the table")])
    if method is None:
        text = "say which column holds the method, or name the columns of two factors."
        allowed = "--method COLUMN, or --whole-factor COLUMN --within-factor COLUMN"
        raise InputError([problem(text, field="--method", given="nothing", allowed=allowed)])
    return None


def _style(name: str | None) -> NumberStyle | None:
    """Return the number style asked for."""
    if name is not None and name not in STYLES:
        allowed = "one of " + "  ".join(STYLES)
        raise InputError([problem("there is no such style.", field="--number-style", given=name, allowed=allowed)])
    return STYLES[name] if name is not None else None


def _priors(level: float, gain: tuple[float, float] | None, error: tuple[float, float] | None) -> Priors:
    """Check the options together and make the priors of them."""
    faults = []
    if not 0.0 < level < 1.0:
        faults.append(problem("the level is a fraction.", field="--level", given=level, allowed="between 0 and 1"))
    if gain is not None and not gain[1] > 0.0:
        faults.append(problem("the SD is not above 0.", field="--prior-gain", given=gain[1], allowed="above 0"))
    if error is not None and not min(error) > 0.0:
        given, allowed = f"{error[0]:g} {error[1]:g}", "two numbers above 0"
        faults.append(problem("both must be above 0.", field="--prior-strip-error", given=given, allowed=allowed))
    if faults:
        raise InputError(faults)
    said = "given on the command line"
    return Priors(
        gain_mean=gain[0] if gain else None,
        gain_sd=gain[1] if gain else None,
        gain_source=said if gain else "flat",
        strip_error_median=error[0] if error else None,
        strip_error_log_sd=error[1] if error else None,
        strip_error_source=said if error else "1/sigma",
    )


def in_words(result: Comparison, outcome: str) -> list[str]:
    """Put a comparison into lines for a screen; numbers carry the unit of the outcome column."""
    lines = [f"{result.strips} strips in {result.blocks} blocks; outcome: {outcome}, in its own unit"]
    lines += [f"  mean of {name}: {mean:.4g}" for name, mean in result.method_means.items()]
    if result.factor_effects:
        lines += ["", "What each factor did:"]
        for test in result.factor_tests:
            lines += _factor(test.factor, [e for e in result.factor_effects if e.factor == test.factor], test)
        lines += ["", "Each method against the baseline:"]
    for one in result.comparisons:
        lines += ["", *_one(one, result.priors.gain_source)]
    effects = "random, Kenward-Roger" if result.block_effects == "random" else "fixed, residual degrees of freedom"
    lines += ["", f"Blocks are {effects}. Strip error (SD): {result.residual_variance**0.5:.3g}."]
    return lines + [f"Note: {text}" for text in result.notes]


def _one(one: MethodComparison, assumed: str) -> list[str]:
    side = "more" if one.gain >= 0 else "less"
    low, high = one.interval
    chance = one.posterior.theta.chance_above(0.0)
    lines = [
        f"{one.method} gave {abs(one.gain):.3g} {side} than {one.baseline}.",
        f"  The true figure is probably between {low:+.3g} and {high:+.3g} ({one.level:.0%} interval).",
        f"  Out of 20 results like this about {20 * chance:.0f} would be real extra yield "
        f"(assumption before the data: {assumed}).",
        f"  Standard error {one.standard_error:.3g}, t {one.t:.3g} on {one.df:.3g} degrees of freedom"
        + (f", p {one.p:.3g}." if one.p is not None else f"; no p-value: {one.no_p_reason}"),
    ]
    test = one.randomisation
    if test is not None:
        how = "all orders counted" if test.exact else f"sampled, error {test.error:.1g}"
        size = f"{test.size} orders" if test.size is not None else "orders too many to list"
        lines.append(f"  Randomisation test: p {test.p:.3g} ({how}, {size}, smallest possible {test.smallest:.2g}).")
    return lines


def _factor(name: str, effects: Sequence[FactorEffect], test: FactorTest) -> list[str]:
    """Say what came out for one factor: each step in words, then the terms."""
    lines = []
    for one in effects:
        low, high = one.interval
        size = f"{abs(one.effect):.3g} {'more' if one.effect >= 0 else 'less'}"
        said = f"{name} {one.level} gave {size} than {name} {one.against}"
        if " by " in name:
            said = f"{name}: {one.level} brought {size} than {one.against}"
        lines.append(f"  {said}, probably between {low:+.3g} and {high:+.3g}.")
        chance = "" if one.randomisation is None else f"; randomisation test p {one.randomisation.p:.3g}"
        model = "no p-value" if one.p is None else f"p {one.p:.3g}"
        error = f"standard error {one.standard_error:.3g} on {one.df:.3g} degrees of freedom"
        lines.append(f"    ({one.interval_level:.0%} interval; {error}, judged by {one.judged_by}; {model}{chance})")
    f = f"    (over all levels: F {test.f:.3g} on {test.df} and {test.df_error:.3g} degrees of freedom, p {test.p:.3g})"
    return [*lines, f]
