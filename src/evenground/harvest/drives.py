"""How long it takes from field to scale, learned from the day itself."""

from __future__ import annotations

import statistics
from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime, timedelta

from evenground.harvest.slips import Slip

# Where fewer joined pairs than this are there to learn from, any drive up to LONGEST_DRIVE is accepted. Judgement.
FEWEST_DRIVES = 5
LONGEST_DRIVE = timedelta(hours=3)
# A trailer's round, field to field, where the day shows none shorter. Judgement.
USUAL_ROUND = timedelta(hours=1)
# Drives vary by at least this much around their middle. Judgement.
DRIVES_VARY = timedelta(minutes=15)


class Drives:
    """How long it takes from field to scale, learned from the day itself, by scale."""

    def __init__(self, pairs: Sequence[tuple[datetime, Slip]], rounds: Sequence[timedelta]) -> None:
        taken: dict[str, list[float]] = defaultdict(list)
        for filled, slip in pairs:
            taken[slip.weighing.scale].append((slip.time - filled).total_seconds())
        self.limits = {scale: _limits(times) for scale, times in taken.items()}
        # no trailer is filled again sooner than half its shortest round after it was filled before
        shortest = min((r for r in rounds if r > timedelta(0)), default=USUAL_ROUND)
        self.shortest_round = max(min(shortest, USUAL_ROUND) * 0.5, DRIVES_VARY)

    def of(self, slip: Slip) -> tuple[timedelta, timedelta]:
        """Return the shortest and longest drive to believe for a slip's scale."""
        return self.limits.get(slip.weighing.scale, (timedelta(0), LONGEST_DRIVE))

    def fits(self, slip: Slip, after: timedelta) -> bool:
        """Whether a drive is neither too short nor too long."""
        low, high = self.of(slip)
        return low <= after <= high

    def filled_between(self, slip: Slip) -> tuple[datetime, datetime]:
        """Return when the trailer on a slip was filled at the earliest and latest."""
        low, high = self.of(slip)
        return slip.time - high, slip.time - low


def _limits(seconds: Sequence[float]) -> tuple[timedelta, timedelta]:
    """Return what drives are believed: three robust standard deviations around the median, at least a quarter hour."""
    if len(seconds) < FEWEST_DRIVES:
        return timedelta(0), LONGEST_DRIVE
    middle = statistics.median(seconds)
    spread = 1.4826 * statistics.median(abs(s - middle) for s in seconds)
    around = max(3.0 * spread, DRIVES_VARY.total_seconds())
    return timedelta(seconds=max(0.0, middle - around)), timedelta(seconds=middle + around)


def minutes(span: timedelta) -> str:
    """Write a span of time in whole minutes."""
    return f"{span.total_seconds() / 60:.0f} min"
