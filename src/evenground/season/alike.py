"""Two methods side by side on the same calendar day and at the same heat since sowing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np

from evenground.basis.days import said_day
from evenground.season.daily import Daily
from evenground.season.heat import first_reaching
from evenground.season.stages import heat_since


@dataclass(frozen=True)
class SameHeat:
    """How far a method is ahead of or behind the baseline.

    Attributes
    ----------
    method, baseline : str
        Letters.
    way : str
        How heat is counted.
    day : date
        The calendar day on which both are looked at.
    heat, heat_baseline : float or None
        Heat since each one's own sowing, on that day [deg C d]; None where a day's temperature is unknown.
    same_heat_day : date or None
        Day on which the method that is ahead had as much heat as the other one has on ``day``.
    """

    method: str
    baseline: str
    way: str
    day: date
    heat: float | None
    heat_baseline: float | None
    same_heat_day: date | None

    @property
    def days_apart(self) -> int | None:
        """Days between ``day`` and the day of the same heat [d]; 0 for the same sowing day."""
        return None if self.same_heat_day is None else (self.day - self.same_heat_day).days

    @property
    def sentence(self) -> str:
        """Say it plainly."""
        if self.heat is None or self.heat_baseline is None or self.days_apart is None or self.same_heat_day is None:
            return f"{self.method} against {self.baseline}: temperatures are missing since sowing."
        if self.days_apart == 0:
            return f"{self.method} and {self.baseline} had the same heat since sowing, day by day."
        late, early = (self.method, self.baseline) if self.heat < self.heat_baseline else (self.baseline, self.method)
        apart = abs(self.heat - self.heat_baseline)
        days = "1 day" if self.days_apart == 1 else f"{self.days_apart} days"
        return (
            f"On {said_day(self.day)} {late} was {apart:.0f} degree days behind {early}; {early} had the same heat "
            f"{days} before, on {said_day(self.same_heat_day)}."
        )

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``same_heat`` of ``season --json``."""
        days = {"day": self.day.isoformat(), "same_heat_day": self.same_heat_day and self.same_heat_day.isoformat()}
        return {**self.__dict__, **days, "days_apart": self.days_apart}


def same_heat(
    sown: Mapping[str, date], baseline: str, weather: Daily, day: date, way: str = "base_6"
) -> tuple[SameHeat, ...]:
    """Hold every method against the baseline on one calendar day and at the same heat since sowing.

    Parameters
    ----------
    sown : mapping of str to date
        Sowing day by method.
    baseline : str
        Letter of the baseline.
    weather : Daily
        Temperatures bridged.
    day : date
        The calendar day.
    way : str
        A key of ``WAYS``.
    """
    if baseline not in sown:
        return ()
    upto = weather.part(weather.first, min(day, weather.last)) if day >= weather.first else weather
    sums = {m: heat_since(first, upto, way) for m, first in sown.items()}
    out = []
    for method, own in sums.items():
        if method == baseline:
            continue
        base = sums[baseline]
        known = not (np.isnan(own).any() or np.isnan(base).any())
        heat, other = (float(own.sum()), float(base.sum())) if known else (None, None)
        earlier = method if sown[method] <= sown[baseline] else baseline
        need = min(heat, other) if heat is not None and other is not None else None
        when = (
            None if need is None else upto.last if heat == other else first_reaching(sums[earlier], sown[earlier], need)
        )
        out.append(SameHeat(method, baseline, way, upto.last, heat, other, when))
    return tuple(out)
