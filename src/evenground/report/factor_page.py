"""Two factors on the adviser's page: what came out for each, judged by its own error."""

from __future__ import annotations

from evenground.compare.factor_effect import FactorEffect, FactorTest
from evenground.decide.verdict_record import Verdict
from evenground.report.document import Column, Heading, Paragraph, Part, Table
from evenground.report.wording import NONE, first_capital, number, p_value, percent, signed, span


def factor_parts(verdict: Verdict) -> tuple[Part, ...]:
    """Return the sentences and the table of two factors; nothing where the trial has one."""
    effects = verdict.comparison.factor_effects
    if not effects:
        return ()
    sentences = tuple(Paragraph(text) for text in verdict.factor_sentences)
    return (
        Heading("Each of the two things compared", 3),
        *sentences,
        _table(effects, f"{verdict.plan.outcome.amount}/ha", over_all_levels(verdict.comparison.factor_tests)),
    )


def over_all_levels(tests: tuple[FactorTest, ...]) -> str:
    """Return the test of each factor over all its levels; nothing where each has two, for there it is the same as t."""
    if all(one.df == 1 for one in tests):
        return ""
    said = (
        f"{one.factor} F {number(one.f, 2)} on {one.df} and {number(one.df_error, 1)} degrees of freedom, p "
        f"{p_value(one.p)}"
        for one in tests
    )
    return f"Over all levels: {'; '.join(said)}."


def _table(effects: tuple[FactorEffect, ...], unit: str, note: str) -> Table:
    level = percent(effects[0].interval_level)
    return Table(
        caption="What came out for each factor, over all levels of the other",
        columns=(
            Column("Factor"),
            Column("Compared", share=1.0),
            Column("Difference", unit, "right"),
            Column("Standard error", unit, "right"),
            Column("Degrees of freedom", "", "right"),
            Column(f"{level} interval", unit, "right"),
            Column("p, model", "", "right"),
            Column("p, randomisation test", "", "right"),
        ),
        rows=tuple(
            (
                first_capital(one.factor),
                f"{one.level} against {one.against} (judged by {one.judged_by})",
                signed(one.effect, 2),
                number(one.standard_error, 3),
                number(one.df, 1),
                span(one.interval, 2),
                p_value(one.p) if one.p is not None else NONE,
                p_value(one.randomisation.p) if one.randomisation is not None else NONE,
            )
            for one in effects
        ),
        note=note,
    )
