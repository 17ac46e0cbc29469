"""How the order of the methods was drawn, for the adviser's page."""

from __future__ import annotations

from evenground.basis.days import said_moment
from evenground.basis.strip import AppliedLimit, Draw, SplitDraw
from evenground.decide.verdict_record import Verdict
from evenground.report.document import Column, Part, Table
from evenground.report.wording import LIMITS, NONE, first_capital, number, p_value, sentence


def draw_parts(verdict: Verdict) -> tuple[Part, ...]:
    """Return all draws of the trial and the limits of the one that counts."""
    return (draws_table(verdict.draws), *limits_tables(verdict.draw))


def limits_tables(draw: Draw) -> tuple[Table, ...]:
    """Return the limits fixed before a draw: one table, and with two factors one for each of its two draws."""
    if draw.split is None:
        return (limits_table(draw.limits),) if draw.limits else ()
    split = draw.split
    whole = limits_table(split.limits, f"Limits on whole plots ({split.whole}), fixed before the draw")
    within = limits_table(draw.limits, f"Limits on strips within whole plots ({split.within}); a block is a whole plot")
    return tuple(t for t, limits in ((whole, split.limits), (within, draw.limits)) if limits)


def draws_table(draws: tuple[Draw, ...]) -> Table:
    """Return one row for every draw there ever was."""
    last = draws[-1].number
    rows = tuple(
        (
            f"{draw.number}{' (counts)' if draw.number == last else ''}",
            ("told " if draw.told else "") + said_moment(draw.drawn_at),
            number(draw.allowed_orders) + ("" if draw.listed else " (free orders, not listed)"),
            p_value(draw.smallest_p),
            "none, drawn elsewhere" if draw.told else str(draw.seed),
            sentence(draw.reason) or ("first draw" if draw.number == 1 else NONE),
        )
        for draw in draws
    )
    return Table(
        caption="All draws of this trial",
        columns=(
            Column("Draw"),
            Column("Drawn at"),
            Column("Allowed orders", "", "right"),
            Column("Smallest p", "", "right"),
            Column("Seed", "", "right"),
            Column("Reason"),
        ),
        rows=rows,
    )


def limits_table(limits: tuple[AppliedLimit, ...], caption: str = "Limits fixed before the draw") -> Table:
    """Return the limits fixed before the draw that counts."""
    return Table(
        caption=caption,
        columns=(Column("Limit"), Column("Applied"), Column("Bound", "", "right"), Column("Why")),
        rows=tuple(
            (
                first_capital(LIMITS.get(limit.name, limit.name)),
                "yes" if limit.applied else "no",
                number(limit.bound, 3),
                sentence(limit.reason) or NONE,
            )
            for limit in limits
        ),
    )


def limits_of_two(split: SplitDraw, within: tuple[AppliedLimit, ...]) -> Table:
    """Return the limits of both draws of two factors side by side, for a page that has room for one table only.

    Parameters
    ----------
    split : SplitDraw
        The draw of whole plots.
    within : tuple of AppliedLimit
        Limits on the strips within them.
    """
    upper, lower = ({limit.name: limit for limit in limits} for limits in (split.limits, within))

    def bound(limit: AppliedLimit | None) -> str:
        if limit is None:
            return NONE
        return number(limit.bound, 1) if limit.applied and limit.bound is not None else "not kept"

    return Table(
        caption="Limits on both draws, fixed before them",
        columns=(
            Column("Limit", share=1.0),
            Column(first_capital(split.whole), "", "right"),
            Column(first_capital(split.within), "", "right"),
        ),
        rows=tuple(
            (first_capital(LIMITS.get(name, name)), bound(upper.get(name)), bound(lower.get(name)))
            for name in dict.fromkeys((*upper, *lower))
        ),
        note=(
            f"The largest difference allowed. {first_capital(split.whole)}: a place is a whole plot in its block; "
            f"{split.within}: a strip in its whole plot."
        ),
    )
