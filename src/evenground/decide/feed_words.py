"""What a gain means in feed, in plain words."""

from __future__ import annotations

from evenground.basis.thousands import grouped
from evenground.compare.comparison import Interval
from evenground.decide.advice import amount
from evenground.decide.feed_cost import FeedCost
from evenground.decide.feed_meaning import FeedMeaning


def feed_sentences(feed: FeedMeaning, currency: str) -> tuple[str, ...]:
    """Say what a gain means in feed.

    Parameters
    ----------
    feed : FeedMeaning
        What was reckoned.
    currency : str
        Shown with amounts.
    """
    return (_brought(feed), f"{feed.sources}.", _worth(feed, currency), *_cost(feed, currency))


def _brought(feed: FeedMeaning) -> str:
    side = "more" if feed.tonnes >= 0.0 else "less"
    text = (
        f"On the farm's {feed.area_ha:g} ha that is {abs(feed.tonnes):.1f} t of dry matter {side} after storage "
        f"(probably between {more_or_less(feed.tonnes_interval, 1, 't')})"
    )
    if feed.days is not None and feed.days_interval is not None:
        head = "the animal" if feed.heads == 1.0 else f"the {feed.heads:g} animals"
        days = f"{abs(feed.days):.0f} days of this feed {side} for {head}"
        text += f": {days} (between {more_or_less(feed.days_interval, 0, 'days')})"
    return text + "."


def more_or_less(ends: Interval, digits: int, unit: str) -> str:
    """Write a range of a difference without a sign.

    Examples
    --------
    >>> more_or_less((-1.2, 20.1), 1, "t")
    '1.2 t less and 20.1 t more'
    >>> more_or_less((1.0, 2.0), 0, "days")
    '1 and 2 days more'
    >>> more_or_less((-2.0, -1.0), 0, "days")
    '1 and 2 days less'
    """
    low, high = ends
    small, large = grouped(abs(low), digits), grouped(abs(high), digits)
    if low < 0.0 < high:
        return f"{small} {unit} less and {large} {unit} more"
    if high <= 0.0:
        return f"{large} and {small} {unit} less"
    return f"{small} and {large} {unit} more"


def _worth(feed: FeedMeaning, currency: str) -> str:
    short, full = feed.worth_short_year_interval, feed.worth_full_year_interval
    return (
        f"It is worth {amount(feed.worth_short_year, currency)} a year when feed is short ({_ends(short, currency)}) "
        f"and {amount(feed.worth_full_year, currency)} when there is enough ({_ends(full, currency)}), before the "
        "extra cost."
    )


def _ends(ends: Interval, currency: str) -> str:
    return f"between {grouped(round(ends[0]))} and {amount(ends[1], currency)}"


def _cost(feed: FeedMeaning, currency: str) -> tuple[str, ...]:
    if not feed.costs:
        return ()
    each = ", ".join(f"{c.method} {c.per_t:.0f} {currency}{_range(c.per_t_interval, 0)}" for c in feed.costs)
    out = [f"A tonne of dry matter costs, as it is brought in: {each}.{_difference(feed, currency)}"]
    for source in dict.fromkeys(e.source for c in feed.costs for e in c.energy):
        each = ", ".join(_energy(c, source, currency) for c in feed.costs)
        out.append(f"Ten megajoules ({source}) cost: {each}.{_energy_difference(feed, source, currency)}")
    return tuple(out)


def _energy_difference(feed: FeedMeaning, source: str, currency: str) -> str:
    found = [e for c in feed.costs for e in c.energy if e.source == source and e.beyond_baseline is not None]
    if not found or found[0].beyond_baseline is None or found[0].beyond_baseline_interval is None:
        return ""
    return _costs_more(feed, found[0].beyond_baseline, found[0].beyond_baseline_interval, 3, currency)


def _energy(cost: FeedCost, source: str, currency: str) -> str:
    one = next(e for e in cost.energy if e.source == source)
    return f"{cost.method} {one.per_10_mj:.3f} {currency}{_range(one.interval, 3)}"


def _range(ends: Interval | None, digits: int) -> str:
    return "" if ends is None else f" ({ends[0]:.{digits}f} to {ends[1]:.{digits}f})"


def _difference(feed: FeedMeaning, currency: str) -> str:
    if feed.cost_difference_per_t is None or feed.cost_difference_interval is None:
        return ""
    return _costs_more(feed, feed.cost_difference_per_t, feed.cost_difference_interval, 1, currency)


def _costs_more(feed: FeedMeaning, by: float, ends: Interval, digits: int, currency: str) -> str:
    side = "more" if by >= 0.0 else "less"
    return (
        f" {feed.method} costs {abs(by):.{digits}f} {currency} {side} than {feed.baseline} (between "
        f"{more_or_less(ends, digits, currency)})."
    )
