"""Times of harvest day put right: nights filed under the day before, and a scale whose clock is an hour off."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import datetime, timedelta

NIGHT_ENDS = 5
EVENING = 20
DAY = timedelta(days=1)
HOUR = timedelta(hours=1)
# An hour's shift must explain at least this many loads and slips more than the clock as it stands. Judgement.
CLEARLY_BETTER = 3
# And all shifts together must explain at least this share of what the clocks as they stand leave over: where trailers
# go round in step an hour is nearly a whole number of rounds, and a shift then fits as well as the truth. Judgement,
# held against such days.
EXPLAINS = 0.5
# A shift that leaves at most so many more over explains the day about as well as the clock itself. Judgement.
NOT_CLEARLY_WORSE = 1


def night_times(times: Iterable[datetime]) -> dict[datetime, datetime]:
    """Find times after midnight that were written with the date of the evening before.

    A time before five in the morning is one if work went on after 20:00 on the same date and nothing was recorded in
    the day before that morning.

    Parameters
    ----------
    times : iterable of datetime
        Times of all loads and weighings, local.

    Returns
    -------
    dict
        Wrong time to right time; times that stand as they are are not in it.

    Examples
    --------
    >>> day = [datetime(2026, 9, 15, 8), datetime(2026, 9, 15, 22), datetime(2026, 9, 15, 0, 20)]
    >>> night_times(day)
    {datetime.datetime(2026, 9, 15, 0, 20): datetime.datetime(2026, 9, 16, 0, 20)}
    """
    every = set(times)
    dates_of_evenings = {t.date() for t in every if t.hour >= EVENING}
    dates_of_work = {t.date() for t in every if t.hour >= NIGHT_ENDS}
    return {
        t: t + DAY
        for t in every
        if t.hour < NIGHT_ENDS and t.date() in dates_of_evenings and (t - DAY).date() not in dates_of_work
    }


def hour_off(
    scales: Mapping[str, bool], left_over: Callable[[Mapping[str, timedelta]], int]
) -> tuple[dict[str, timedelta], tuple[str, ...]]:
    """Find scales whose clock is an hour ahead or behind.

    The scale whose shift explains most is moved first; the others are then judged beside it, because what is left over
    by one wrong clock can look like another one's fault.

    Parameters
    ----------
    scales : mapping of str to bool
        Names of the scales, and whether they weighed enough to be judged; others are only doubted, and only where a
        shifted clock explains more.
    left_over : callable
        How many loads and slips stay without a partner if the clocks are moved by so much [1].

    Returns
    -------
    shifts : dict
        Scale to what has to be added to its times; scales whose clock is right are not in it.
    doubtful : tuple of str
        Scales where a shifted clock explains the day about as well, or better but far from all of it.
    """
    shifts: dict[str, timedelta] = {}
    at_first = left_over(shifts)
    while True:
        as_it_is = left_over(shifts)
        others = {s: min((left_over({**shifts, s: by}), by) for by in (-HOUR, HOUR)) for s in scales if s not in shifts}
        best = min(others, key=lambda s: others[s][0], default=None)
        if best is None or others[best][0] > as_it_is - CLEARLY_BETTER:
            near = {s: NOT_CLEARLY_WORSE if enough else -1 for s, enough in scales.items()}
            doubtful = (s for s, (count, _) in others.items() if count <= as_it_is + near[s])
            if as_it_is > EXPLAINS * at_first:
                return {}, tuple(dict.fromkeys((*shifts, *doubtful)))
            return shifts, tuple(doubtful)
        shifts[best] = others[best][1]
