"""The record of one day's weather, as a gauge, a station or a weather service gives it."""

from __future__ import annotations

from datetime import date
from typing import Annotated, ClassVar, Self

from pydantic import Field, model_validator

from evenground.basis.observed import Observation
from evenground.basis.record import Contradictions

Humidity = Annotated[float, Field(ge=0.0, le=100.0)]


class WeatherDay(Observation):
    """One day's weather; every value may be missing.

    Attributes
    ----------
    day : date
        The day.
    rain_mm : float or None
        Rain [mm].
    temperature_min_c, temperature_max_c : float or None
        Air temperature [deg C].
    humidity_percent, humidity_min_percent, humidity_max_percent : float or None
        Relative humidity of the air: mean, lowest, highest [%].
    dew_point_c : float or None
        Dew point [deg C].
    wind_m_per_s : float or None
        Mean wind speed [m/s] at the height the plan names (``season.wind_height_m``).
    radiation_mj_per_m2 : float or None
        Global (solar) radiation of the day [MJ/m2].
    sunshine_h : float or None
        Hours of bright sunshine [h].
    checked : bool
        True once somebody has looked at a doubtful value and stands by it.
    """

    kind: ClassVar[str] = "weather"
    day: date
    rain_mm: Annotated[float, Field(ge=0.0, le=400.0)] | None = None
    temperature_min_c: Annotated[float, Field(ge=-50.0, le=45.0)] | None = None
    temperature_max_c: Annotated[float, Field(ge=-40.0, le=55.0)] | None = None
    humidity_percent: Humidity | None = None
    humidity_min_percent: Humidity | None = None
    humidity_max_percent: Humidity | None = None
    dew_point_c: Annotated[float, Field(ge=-60.0, le=35.0)] | None = None
    wind_m_per_s: Annotated[float, Field(ge=0.0, le=60.0)] | None = None
    radiation_mj_per_m2: Annotated[float, Field(ge=0.0, le=45.0)] | None = None
    sunshine_h: Annotated[float, Field(ge=0.0, le=24.0)] | None = None
    checked: bool = False

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        low, high = self.temperature_min_c, self.temperature_max_c
        if low is not None and high is not None and low > high:
            message = "the day's minimum is above its maximum; were the two swapped?"
            raise Contradictions([("temperature_min_c", f"{low:g}", f"at most {high:g}", message)])
        return self
