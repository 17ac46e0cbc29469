"""The verdict carries the season where weather was recorded, and nothing where none was."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from tests import small_trial as small

from evenground.decide.verdict import verdict

TODAY = date(2025, 10, 1)
WHOLE = small.whole_season(small.draw(), gain_t_per_ha=0.6)


def test_recorded_weather_is_summed_up() -> None:
    varied = small.replaced(WHOLE, weather=small.weather(date(2025, 4, 28), [4.0, 0.0, 1.0] * 45))
    got = verdict(small.stored(None, None, varied), today=TODAY, version="9.9.9").season_summary
    assert got is not None
    assert got.weather is not None
    assert got.days is not None
    assert got.weather.rain_mm == 225.0
    # No value is doubtful, so the days of the page hold the rain of the one sentence.
    assert float(np.nansum(got.days["rain_mm"])) == pytest.approx(got.weather.rain_mm)


def test_without_weather_there_is_no_season() -> None:
    records = small.replaced(WHOLE, weather=[])
    assert verdict(small.stored(None, None, records), today=TODAY, version="9.9.9").season_summary is None
