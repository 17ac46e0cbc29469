"""The adviser's page: every interval, test and assumption behind the verdict, each with a plain sentence."""

from __future__ import annotations

from collections.abc import Callable

from evenground.compare.comparison import Comparison, MethodComparison, Priors
from evenground.decide.side_comparison import SideResult
from evenground.decide.verdict_record import MethodVerdict, Verdict
from evenground.report.beside import beside_parts
from evenground.report.document import Bullets, Column, Figure, Heading, Paragraph, Part, Table
from evenground.report.draw_record import draw_parts
from evenground.report.factor_page import factor_parts
from evenground.report.picture_data import belief_curves, residuals_along
from evenground.report.wording import (
    ACTIONS,
    NONE,
    first_capital,
    must_reach,
    number,
    p_value,
    percent,
    sentence,
    signed,
    span,
)

Row = tuple[str, str, Callable[[MethodVerdict], str]]
MODEL_LEVEL = 0.05

INTRODUCTION = (
    "The strip is the unit: one weight a strip, compared inside its block. The extra yield is the method minus the "
    "baseline. Three answers stand side by side, because each can be wrong in its own way: a model of strips and "
    "blocks, a test that uses nothing but the draw, and what to believe once earlier experience is counted in."
)


def adviser_page(verdict: Verdict) -> tuple[Part, ...]:
    """Return the adviser's page."""
    parts: list[Part] = [Heading("For the adviser"), Paragraph(INTRODUCTION), results_table(verdict)]
    parts += [Paragraph(text) for text in disagreements(verdict)]
    parts += factor_parts(verdict)
    parts += beside_parts(verdict)
    parts += [belief_figure(verdict, method) for method in verdict.methods]
    parts += [Heading("What decided the advice", 3), advice_table(verdict)]
    parts += [Heading("What was believed before the harvest", 3), priors_table(verdict.comparison.priors, verdict)]
    parts += [sensitivity_table(method) for method in verdict.methods]
    parts += [Heading("Strips and blocks", 3), *_strips_and_blocks(verdict)]
    if verdict.side_results:
        parts += [Heading("Side results", 3), side_table(verdict.side_results)]
    return (*parts, Heading("How the order was drawn", 3), *draw_parts(verdict))


def _level(verdict: Verdict) -> str:
    return percent(verdict.main.comparison.level)


def _test(one: MethodComparison, say: Callable[[float], str], what: str) -> str:
    return NONE if one.randomisation is None else say(getattr(one.randomisation, what))


def _random_p(method: MethodVerdict) -> str:
    test = method.comparison.randomisation
    if test is None:
        return NONE
    return f"{p_value(test.p)} ({'exact' if test.exact else f'sampled, ± {number(test.error, 4)}'})"


def _model_rows(level: str) -> tuple[Row, ...]:
    """Return what comes from the model: plain words, term with unit, and how to read it off a method's verdict."""
    return (
        ("What the weights show", "extra yield, t/ha", lambda m: signed(m.comparison.gain, 2)),
        ("How far chance alone moves that figure", "standard error, t/ha", lambda m: number(_error(m), 3)),
        ("How much is known about that chance", "degrees of freedom", lambda m: number(m.comparison.df, 2)),
        ("The same by another rule", "degrees of freedom, Satterthwaite", lambda m: number(_other_df(m), 2)),
        ("Extra yield counted in standard errors", "t", lambda m: signed(m.comparison.t, 2)),
        ("How often chance alone would show as much", "p, two-sided, model", lambda m: p_value(m.comparison.p)),
        ("Where the truth may lie", f"{level} interval, t/ha", lambda m: span(m.comparison.interval, 2)),
        (
            "Where it may lie, for all methods at once",
            f"{level} simultaneous interval, t/ha",
            lambda m: span(m.comparison.interval_simultaneous, 2),
        ),
        (
            "Chance, when all methods are looked at",
            "p, simultaneous",
            lambda m: p_value(m.comparison.p_simultaneous),
        ),
    )


def _shared_row(verdict: Verdict) -> tuple[Row, ...]:
    """Return the error that several strips share, where there is one."""
    if not any(m.comparison.shared_sd for m in verdict.methods):
        return ()
    words, term = "Part of it that several strips share", "SD of the common error, t/ha"
    return ((words, term, lambda m: number(m.comparison.shared_sd, 3)),)


def _draw_rows() -> tuple[Row, ...]:
    """Return what comes from the draw."""
    return (
        ("Share of allowed orders that would show as much", "p, randomisation test", _random_p),
        (
            "The smallest share this draw could give",
            "smallest possible p",
            lambda m: _test(m.comparison, p_value, "smallest"),
        ),
        ("Orders counted", "size of the reference set", lambda m: _test(m.comparison, number, "size")),
    )


def _seen_row(detectable: float | None) -> tuple[Row, ...]:
    """Return what the layout can see, where it was said before sowing."""
    if detectable is None:
        return ()
    term = "detectable gain (two-sided 5 %, power 0.8), t/ha"
    return (("What the trial can see four times in five", term, lambda _: number(detectable, 2)),)


def _belief_rows(level: str, detectable: float | None) -> tuple[Row, ...]:
    """Return what to believe after the harvest."""
    return (
        ("What to believe about this season", "posterior mean ± SD, t/ha", lambda m: _mean(m, "theta")),
        ("Range for this season", f"{level} interval, t/ha", lambda m: _belief(m, "theta")),
        (
            "Chance that it gave more at all",
            "P(this season > 0)",
            lambda m: percent(m.comparison.posterior.theta.chance_above(0.0)),
        ),
        ("What to believe about the years", "posterior mean ± SD, long run, t/ha", lambda m: _mean(m, "mu")),
        ("Range for the years", f"{level} interval, t/ha", lambda m: _belief(m, "mu")),
        ("What to expect next season", "posterior mean ± SD, next season, t/ha", lambda m: _mean(m, "next_season")),
        ("Range for next season", f"{level} interval, t/ha", lambda m: _belief(m, "next_season")),
        (
            "What it must reach to pay",
            "worthwhile gain, t/ha",
            lambda m: must_reach(m.worthwhile_gain, 2, m.budget.amount),
        ),
        *_seen_row(detectable),
        ("Chance that it pays over the years", "P(long run > worthwhile)", lambda m: percent(m.chance_it_pays)),
        (
            "Chance that it pays next season",
            "P(next season > worthwhile)",
            lambda m: percent(m.chance_it_pays_next_year),
        ),
    )


def _error(method: MethodVerdict) -> float:
    return method.comparison.standard_error


def _other_df(method: MethodVerdict) -> float | None:
    return method.comparison.df_satterthwaite


def _mean(method: MethodVerdict, which: str) -> str:
    gain = getattr(method.comparison.posterior, which)
    return f"{signed(gain.mean, 2)} ± {number(gain.sd, 2)}"


def _belief(method: MethodVerdict, which: str) -> str:
    return span(getattr(method.comparison.posterior, which).interval(method.comparison.level), 2)


def results_table(verdict: Verdict) -> Table:
    """Return all intervals and tests, one column a method."""
    level = _level(verdict)
    rows = (*_model_rows(level), *_shared_row(verdict), *_draw_rows(), *_belief_rows(level, verdict.detectable_gain))
    columns = (
        Column("In plain words"),
        Column("Term and unit"),
        *(Column(f"{m.comparison.method} against {m.comparison.baseline}", "", "right") for m in verdict.methods),
    )
    per_ha = f"{verdict.plan.outcome.amount}/ha"
    cells = tuple(
        (words, term.replace("t/ha", per_ha), *(say(m) for m in verdict.methods)) for words, term, say in rows
    )
    ones = [m.comparison for m in verdict.methods if m.comparison.no_p_reason]
    reasons = [f"{one.method}: {sentence(one.no_p_reason)}" for one in ones]
    return Table(f"Every answer with how sure it is ({verdict.harvest.unit})", columns, cells, " ".join(reasons))


def disagreements(verdict: Verdict) -> tuple[str, ...]:
    """Return, in words, where model and draw lead to different readings at the 5 % level."""
    out = []
    for method in verdict.methods:
        one = method.comparison
        if one.p is None or one.randomisation is None:
            continue
        if (one.p < MODEL_LEVEL) != (one.randomisation.p < MODEL_LEVEL):
            out.append(
                f"For {one.method} the model (p {p_value(one.p)}) and the randomisation test "
                f"(p {p_value(one.randomisation.p)}) fall on different sides of 0.05. The randomisation test is the "
                "one the draw guarantees."
            )
    return tuple(out)


def advice_table(verdict: Verdict) -> Table:
    """Return the advice with the limit that decided it; the limits were fixed with the draw."""
    limits, currency = verdict.plan.advice, verdict.plan.money.currency
    rows = tuple(
        (
            m.comparison.method,
            ACTIONS[m.advice.action].lower(),
            m.advice.deciding.rpartition(".")[2].replace("_", " "),
            percent(m.money.chance_of_loss),
            number(m.advice.value_of_another_year),
        )
        for m in verdict.methods
    )
    return Table(
        caption="Advice and the limit that decided it",
        columns=(
            Column("Method"),
            Column("Advice"),
            Column("Decided by"),
            Column("Chance of a loss", "", "right"),
            Column("Another trial year is worth", currency, "right"),
        ),
        rows=rows,
        note=(
            f'Limits{"" if verdict.draw.told else " fixed with the draw"}: "use it" needs a chance of loss of at most '
            f"{percent(limits.largest_chance_of_loss)} and an expected net above zero; fewer than "
            f"{limits.fewest_blocks} blocks cannot tell; another trial year costs "
            f"{number(verdict.plan.money.trial_cost_per_year)} {currency}."
        ),
    )


def belief_figure(verdict: Verdict, method: MethodVerdict) -> Figure:
    """Return the posterior curves of this season, the long run and next season."""
    one, picture = method.comparison, belief_curves(verdict, method)
    return Figure(
        name=f"belief-{one.method}",
        picture=picture,
        alt=(
            f"Three curves of belief about the extra yield of {one.method}: this season around "
            f"{_mean(method, 'theta')}, long run around {_mean(method, 'mu')}, next season around "
            f"{_mean(method, 'next_season')} {method.budget.amount}/ha; "
            f"to pay: {must_reach(method.worthwhile_gain, 2, method.budget.amount)}."
        ),
        caption=(
            f"Posterior densities for {one.method} against {one.baseline}. The curves show how sure the answer is, not "
            "how the strips were spread."
        ),
    )


def priors_table(priors: Priors, verdict: Verdict) -> Table:
    """Return the assumptions with unit and source."""
    unit = verdict.harvest.unit
    flat = "every value alike (flat)"
    gain = flat if priors.gain_sd is None else f"{signed(priors.gain_mean, 2)} ± {number(priors.gain_sd, 2)} {unit}"
    error = "every size alike on a log scale"
    if priors.strip_error_median is not None:
        spread = number(priors.strip_error_log_sd, 2)
        error = f"median {number(priors.strip_error_median, 2)} {unit}, SD of its logarithm {spread}"
    return Table(
        caption="Starting assumptions (priors)",
        columns=(Column("About", share=2.0), Column("Assumed", share=3.0), Column("Where it comes from", share=4.0)),
        rows=(
            ("Extra yield over the years", gain, priors.gain_source),
            ("One season against the years", f"SD {number(priors.season_sd, 2)} {unit}", priors.season_source),
            ("Strip error", error, priors.strip_error_source),
        ),
    )


def sensitivity_table(method: MethodVerdict) -> Table:
    """Return the main answers again under other starting assumptions."""
    one, theta = method.comparison, method.comparison.posterior.theta
    as_stated = (
        "As stated above",
        f"{signed(theta.mean, 2)} ± {number(theta.sd, 2)}",
        percent(method.chance_it_pays),
        percent(method.chance_it_pays_next_year),
        ACTIONS[method.advice.action].lower(),
    )
    others = (
        (
            first_capital(case.label),
            f"{signed(case.mean, 2)} ± {number(case.sd, 2)}",
            percent(case.chance_it_pays),
            percent(case.chance_it_pays_next_year),
            ACTIONS.get(case.action, case.action).lower(),
        )
        for case in method.sensitivity
    )
    return Table(
        caption=f"{one.method} against {one.baseline} under other starting assumptions",
        columns=(
            Column("Assumption"),
            Column("This season", f"{method.budget.amount}/ha", "right"),
            Column("Pays over the years", "", "right"),
            Column("Pays next season", "", "right"),
            Column("Advice"),
        ),
        rows=(as_stated, *others),
    )


def _strips_and_blocks(verdict: Verdict) -> list[Part]:
    comparison, unit = verdict.comparison, verdict.harvest.unit
    picture = residuals_along(verdict)
    said = ", ".join(f"strip {r.strip} ({r.letter}) {signed(r.value, 2)}" for r in picture.residuals)
    figure = Figure(
        name="residuals",
        picture=picture,
        alt=f"What is left of each strip after method and block, along the field, in {unit}: {said}.",
        caption=(
            "Residuals: weighed minus what method and block lead one to expect, in the order the strips lie. A slope, "
            "a bow or one strip far from the rest would be a reason to look again."
        ),
    )
    parts: list[Part] = [Paragraph(block_words(comparison, unit)), means_table(verdict), figure]
    if any(row.gain_without is not None for row in comparison.residuals):
        parts.append(influence_table(verdict))
    return [*parts, *([Bullets(tuple(map(sentence, comparison.notes)))] if comparison.notes else [])]


def block_words(comparison: Comparison, unit: str) -> str:
    """Return how blocks were treated, in a sentence."""
    strip_error = f"Strip error (standard deviation) {number(comparison.residual_variance**0.5, 2)} {unit}."
    start = f"{comparison.strips} strips in {comparison.blocks} blocks. "
    if comparison.block_variance is None:
        return f"{start}{strip_error} Blocks are fixed; no block variance is estimated."
    estimate = f"The block variance, estimated without a bound, is {number(comparison.block_variance, 3)}"
    how = "so blocks are random (REML, Kenward-Roger)"
    if comparison.block_effects == "fixed":
        how = "so blocks are fixed and degrees of freedom are those of the residual"
    return f"{start}{strip_error} {estimate} ({unit} squared), {how}."


def means_table(verdict: Verdict) -> Table:
    """Return the adjusted mean of every method."""
    names = {m.letter: m.name for m in verdict.plan.methods}
    means = sorted(verdict.comparison.method_means.items())
    return Table(
        caption="Means adjusted for blocks",
        columns=(Column("Method"), Column("Name"), Column("Mean", verdict.harvest.unit, "right")),
        rows=tuple((letter, names.get(letter, ""), number(mean, 2)) for letter, mean in means),
    )


def influence_table(verdict: Verdict) -> Table:
    """Return the main extra yield with each block left out in turn."""
    without: dict[str, float | None] = {}
    for row in verdict.comparison.residuals:
        without.setdefault(row.block, row.gain_without)
    gain, per_ha = verdict.comparison.comparisons[0], f"{verdict.plan.outcome.amount}/ha"
    rows = tuple(
        (f"Block {block}", signed(value, 2), signed(None if value is None else value - gain.gain, 2))
        for block, value in without.items()
    )
    return Table(
        caption=f"Extra yield of {gain.method} with one block left out",
        columns=(Column("Left out"), Column("Extra yield", per_ha, "right"), Column("Change", per_ha, "right")),
        rows=rows,
    )


SIDE = "Side results: looked at beside the main outcome, never the verdict"


def side_table(results: tuple[SideResult, ...], caption: str = SIDE) -> Table:
    """Return side results with their intervals."""
    return Table(
        caption=caption,
        columns=(
            Column("Outcome"),
            Column("Compared"),
            Column("Difference", "", "right"),
            Column("Interval", "", "right"),
            Column("Unit"),
        ),
        rows=tuple(_side_row(result) for result in results),
    )


def _side_row(result: SideResult) -> tuple[str, ...]:
    return (
        first_capital(result.outcome),
        f"{result.method} − {result.baseline}",
        signed(result.difference, 2),
        span(result.interval, 2),
        result.unit,
    )
