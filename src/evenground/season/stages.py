"""When the crop came up, its leaves, when it flowers and is fit for silage: by the heat since its own sowing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np

from evenground.basis.season_plan import SeasonSection
from evenground.basis.season_tables import HeatNeeds, earliness_groups, maize
from evenground.season.daily import Array, Daily
from evenground.season.heat import WAYS, first_reaching
from evenground.season.heat_ahead import HeatAhead

# Range of the forecast over the earlier years: 8 of 10 lie within.
LOW_SHARE, HIGH_SHARE = 0.1, 0.9
# The crop counts as flowering from two weeks before to three weeks after. Common practice, no source.
BEFORE_FLOWERING, AFTER_FLOWERING = timedelta(days=14), timedelta(days=21)


@dataclass(frozen=True)
class Stage:
    """One stage of one method.

    Attributes
    ----------
    method : str
        Letter.
    stage : str
        ``emergence``, ``three_leaves``, ``flowering`` or ``silage`` (32 % dry matter).
    first, last : date or None
        Earliest and latest day; None where the heat known or expected does not reach it.
    state : str
        ``passed``, ``under way``, ``ahead`` or ``not reached``.
    source : str
        Where the heat need comes from.
    """

    method: str
    stage: str
    first: date | None
    last: date | None
    state: str
    source: str

    @property
    def middle(self) -> date | None:
        """The day half way, None where either end is not known."""
        if self.first is None or self.last is None:
            return None
        return self.first + (self.last - self.first) / 2

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``stages`` of ``season --json``."""
        ends = {"first": self.first and self.first.isoformat(), "last": self.last and self.last.isoformat()}
        return {"method": self.method, "stage": self.stage, **ends, "state": self.state, "source": self.source}


def heat_needs(season: SeasonSection) -> HeatNeeds | None:
    """Return the heat needs of the hybrid: the farm's own sums, else the row of its group; None where neither is said.

    Parameters
    ----------
    season : SeasonSection
        What the plan says.
    """
    row = earliness_groups().get(season.earliness_group or "")
    own = season.flowering_heat_sum, season.silage_heat_sum
    if row is None and None in own:
        return None
    flowering, silage = own[0] or (row.flowering if row else None), own[1] or (row.silage if row else None)
    assert flowering is not None
    assert silage is not None
    source = "the farm's own sums" if None not in own else row.source if row else ""
    return HeatNeeds(season.earliness_group or "", flowering, silage, source)


def leaf_collars(heat: float) -> int:
    """Return the number of leaves with a collar.

    Parameters
    ----------
    heat : float
        Heat since sowing, base 10 with ceiling 30 [deg C d]; emergence is taken at 115 deg F d.

    Source: 115 deg F d to emergence, 82 for each leaf up to the tenth, then 50 (Purdue and Ohio State extension).

    Examples
    --------
    >>> leaf_collars(785 / 1.8)
    8
    """
    table = maize()
    since = heat - 115.0 / 1.8
    tenth = 10.0 * table["leaf_heat"]
    if since < tenth:
        return max(int(since / table["leaf_heat"]), 0)
    return 10 + int((since - tenth) / table["later_leaf_heat"])


def stages(
    method: str, sown: date, weather: Daily, needs: HeatNeeds | None, ahead: HeatAhead | None
) -> tuple[Stage, ...]:
    """Say when each stage was or will be reached by a method, from its own sowing day.

    Parameters
    ----------
    method : str
        Letter.
    sown : date
        Its sowing day.
    weather : Daily
        Temperatures bridged, ending with the last known day.
    needs : HeatNeeds or None
        Of the hybrid; None leaves flowering and silage out.
    ahead : HeatAhead or None
        How the season may go on; None leaves out what is not reached yet.
    """
    table = maize()
    low, high = table["emergence_heat_low"], table["emergence_heat_high"]
    three = 3.0 * table["leaf_heat"]
    source = "US extension services (basis/maize_coefficients.csv)"
    wanted = [
        ("emergence", "base_10_30", (low, high), source),
        ("three_leaves", "base_10_30", (low + three, high + three), source),
    ]
    if needs is not None:
        wanted += [
            ("flowering", "base_6", needs.flowering, needs.source),
            ("silage", "base_6", needs.silage, needs.source),
        ]
    out = []
    for stage, way, (least, most), where in wanted:
        first, last = (
            _day(sown, weather, ahead, way, need, share) for need, share in ((least, LOW_SHARE), (most, HIGH_SHARE))
        )
        out.append(Stage(method, stage, first, last, _state(first, last, weather.last), where))
    return tuple(out)


def heat_since(sown: date, weather: Daily, way: str) -> Array:
    """Return the heat of every day from sowing to the last known day [deg C d]; empty where sowing lies after it.

    Parameters
    ----------
    sown : date
        First day counted.
    weather : Daily
        Temperatures bridged.
    way : str
        A key of ``WAYS``.
    """
    if sown > weather.last:
        return np.zeros(0)
    part = weather.part(sown, weather.last)
    return WAYS[way](part["temperature_min_c"], part["temperature_max_c"])


def _day(sown: date, weather: Daily, ahead: HeatAhead | None, way: str, need: float, share: float) -> date | None:
    """Day on which a need is met, in the past or in a share of the ways the season may go on."""
    heat = heat_since(sown, weather, way)
    found = first_reaching(heat, sown, need)
    if found is not None or np.isnan(heat).any() or ahead is None:
        return found
    skipped = max((sown - ahead.first).days, 0)
    future = ahead.values[way].copy()
    future[:, :skipped] = 0.0
    total = float(heat.sum()) + np.cumsum(future, axis=1)
    days = np.where((total >= need).any(axis=1), (total >= need).argmax(axis=1), np.inf)
    place = float(np.quantile(days, share, method="inverted_cdf"))
    return None if np.isinf(place) else ahead.first + timedelta(days=int(place))


def _state(first: date | None, last: date | None, known: date) -> str:
    if first is None:
        return "not reached"
    if first > known:
        return "ahead"
    return "passed" if last is not None and last <= known else "under way"


def flowering_window(found: tuple[Stage, ...]) -> tuple[date, date] | None:
    """Return the weeks around flowering; None where its day is not known.

    Parameters
    ----------
    found : tuple of Stage
        Stages of one method.
    """
    middle = next((s.middle for s in found if s.stage == "flowering"), None)
    return None if middle is None else (middle - BEFORE_FLOWERING, middle + AFTER_FLOWERING)
