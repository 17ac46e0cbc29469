"""What the difference means in feed for the farm: tonnes, days, worth, cost, each with its range and its unit."""

from __future__ import annotations

from evenground.compare.comparison import Interval
from evenground.decide.feed_meaning import FeedMeaning
from evenground.decide.verdict_record import MethodVerdict, Verdict
from evenground.report.document import Column, Heading, Part, Table
from evenground.report.wording import NONE, number, signed

Row = tuple[str, str, str]


def feed_part(verdict: Verdict) -> tuple[Part, ...]:
    """Return one table for each method; nothing where nothing was reckoned."""
    tables = [feed_table(m, m.feed) for m in verdict.methods if m.feed is not None]
    return (Heading("What the difference means in feed"), *tables) if tables else ()


def feed_table(method: MethodVerdict, feed: FeedMeaning) -> Table:
    """Return what a gain means in feed.

    Parameters
    ----------
    method : MethodVerdict
        The verdict on the method.
    feed : FeedMeaning
        What was reckoned.
    """
    budget, level = method.budget, method.comparison.level
    unit = f"{budget.currency} a year"
    rows: list[Row] = [_difference("Dry matter after storage", feed.tonnes, feed.tonnes_interval, "t a year", 1)]
    if feed.days is not None and feed.days_interval is not None:
        head = "1 animal" if feed.heads == 1.0 else f"{number(feed.heads)} animals"
        rows.append(_difference(f"Feed for {head}", feed.days, feed.days_interval, "days a year", 0))
    rows += [
        _difference("Worth when feed is short", feed.worth_short_year, feed.worth_short_year_interval, unit, 0),
        _difference("Worth when there is enough", feed.worth_full_year, feed.worth_full_year_interval, unit, 0),
        *_cost_rows(feed, budget.currency),
    ]
    area = number(feed.area_ha, 0 if feed.area_ha == int(feed.area_ha) else 1)
    return Table(
        caption=f"{feed.method} against {feed.baseline} on {area} ha",
        columns=(
            Column("What", share=2.4),
            Column("Likely", "", "right"),
            Column("Probably between", f"{round(20 * level)} times in 20", "right", share=1.2),
        ),
        rows=tuple(rows),
        note=(
            f"{feed.sources}. Worth is before storage and before the extra cost; cost is that of feed as it is brought "
            "in. All ranges are for this season in this field."
        ),
    )


def _difference(what: str, value: float, ends: Interval, unit: str, digits: int) -> Row:
    return f"{what}, {unit}", signed(value, digits), f"{signed(ends[0], digits)} to {signed(ends[1], digits)}"


def _cost_rows(feed: FeedMeaning, currency: str) -> list[Row]:
    """Return what a tonne and ten megajoules cost with each method, and the difference of both."""
    per_t, per_mj = f"{currency}/t dry matter", f"{currency} for 10 MJ"
    rows = [(f"Cost of {c.method}, {per_t}", number(c.per_t), _between(c.per_t_interval, 0)) for c in feed.costs]
    if feed.cost_difference_per_t is not None and feed.cost_difference_interval is not None:
        what = f"Cost of {feed.method} less that of {feed.baseline}"
        rows.append(_difference(what, feed.cost_difference_per_t, feed.cost_difference_interval, per_t, 1))
    for cost in feed.costs:
        rows += [
            (f"Energy of {cost.method} ({e.source}), {per_mj}", number(e.per_10_mj, 3), _between(e.interval, 3))
            for e in cost.energy
        ]
        rows += [
            _difference(
                f"Energy of {feed.method} less that of {feed.baseline} ({e.source})",
                e.beyond_baseline,
                e.beyond_baseline_interval,
                per_mj,
                3,
            )
            for e in cost.energy
            if e.beyond_baseline is not None and e.beyond_baseline_interval is not None
        ]
    return rows


def _between(ends: Interval | None, digits: int) -> str:
    return NONE if ends is None else f"{number(ends[0], digits)} to {number(ends[1], digits)}"
