"""Compare the methods in any table of strips with the baseline.

One row a strip, or, with --strip, rows are plots that name their strip. Empty outcomes and NA stay missing.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from evenground.adapters.number_style import STYLES, NumberStyle
from evenground.adapters.strip_table import Columns, read_strip_table
from evenground.basis.errors import InputError, problem
from evenground.cli.output import note, print_json
from evenground.compare.compare import compare
from evenground.compare.comparison import Comparison, MethodComparison, Priors


def run(
    file: Annotated[Path, typer.Argument(help="Table of strips: CSV with commas, semicolons or tabs.")],
    outcome: Annotated[str, typer.Option(help="Column with the value of each strip.")],
    method: Annotated[str, typer.Option(help="Column with the method.")],
    block: Annotated[str, typer.Option(help="Column with the block.")],
    baseline: Annotated[str, typer.Option(help="The method the others are compared with.")],
    strip: Annotated[str | None, typer.Option(help="Column with the strip, where rows are plots.")] = None,
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
    values, notes = read_strip_table(file, Columns(outcome, method, block, strip), baseline, number_style=style)
    for text in notes:
        note(text)
    result = compare(values, baseline, level=level, priors=priors, seed=seed)
    if as_json:
        print_json(result.as_dict())
    else:
        typer.echo("\n".join(in_words(result, outcome)))


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
