"""What things cost and what a tonne is worth: the records behind the partial budget.

Money is in the trial's own currency; nothing here is a quotation. All figures are the farm's own to enter.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from evenground.basis.record import Contradictions, Record

Money = Annotated[float, Field(ge=0.0, le=1e8)]
Fraction = Annotated[float, Field(ge=0.0, le=1.0)]


class MachineAccess(Record):
    """One way to get the machine that a method needs: hire it, own it, or share it.

    Attributes
    ----------
    method : str
        Letter of the method this machine sows.
    way : {"hire", "own", "shared"}
        Hired work, own machine, or a machine bought together with neighbours.
    price_per_ha : float or None
        Hire: what the contractor asks [money/ha].
    purchase_price, salvage_value : float or None
        Own or shared: price new and value at the end [money].
    years : float or None
        Years of use [a].
    interest_fraction : float
        Yearly interest [1/a].
    upkeep_fraction : float
        Taxes, insurance and housing as a share of the purchase price [1/a].
    running_cost_per_ha : float
        Fuel, wear, repairs and labour [money/ha].
    area_ha_per_year : float or None
        Area this machine sows in a year, all farms together [ha/a].
    """

    method: Annotated[str, Field(pattern=r"^[A-Z]$")]
    way: Literal["hire", "own", "shared"]
    price_per_ha: Money | None = None
    purchase_price: Money | None = None
    salvage_value: Money = 0.0
    years: Annotated[float, Field(ge=1.0, le=40.0)] | None = None
    interest_fraction: Annotated[float, Field(ge=0.0, le=0.3)] = 0.04
    upkeep_fraction: Annotated[float, Field(ge=0.0, le=0.2)] = 0.01
    running_cost_per_ha: Money = 0.0
    area_ha_per_year: Annotated[float, Field(gt=0.0, le=20000.0)] | None = None

    @model_validator(mode="after")
    def _complete(self) -> Self:
        if self.way == "hire":
            missing = ["price_per_ha"] if self.price_per_ha is None else []
        else:
            needed = ("purchase_price", "years", "area_ha_per_year")
            missing = [name for name in needed if getattr(self, name) is None]
        if missing:
            raise Contradictions((name, "", "a value", f"{self.way} needs {', '.join(missing)}.") for name in missing)
        if self.purchase_price is not None and self.salvage_value > self.purchase_price:
            allowed, message = f"at most {self.purchase_price:g}", "salvage_value is above purchase_price."
            raise Contradictions([("salvage_value", f"{self.salvage_value:g}", allowed, message)])
        return self


class Prices(Record):
    """Prices of a trial, section ``[money]``.

    Attributes
    ----------
    currency : str
        Currency shown with every amount.
    value_short_year_per_t, value_full_year_per_t : float
        Worth of one more tonne of the outcome (dry matter or grain) in a year short of feed (the purchase price)
        and in a year with enough [money/t].
    value_short_year_per_gj, value_full_year_per_gj : float or None
        The same for one more gigajoule [money/GJ]; needed where energy is counted.
    starch_value_short_year_per_t, starch_value_full_year_per_t : float or None
        The same for one more tonne of starch [money/t]; needed where starch is counted, because a tonne of starch has
        another price than a tonne of dry matter.
    chance_short_year : float
        Share of years that are short [1].
    seed_price_per_unit : float
        Price of one unit of seed [money].
    kernels_per_unit : int
        Kernels in a unit [1].
    harvest_cost_per_t_fresh : float
        What carrying and clamping one more tonne costs [money/t fresh matter].
    area_ha : float
        Area on which the method would be used [ha/a].
    horizon_years : float
        Years over which a decision counts [a].
    access : str
        Which way of getting the machine the verdict counts.
    machine_access : tuple of MachineAccess
        All ways, shown side by side.
    trial_cost_per_year : float
        What another trial year costs: time, weighing, laboratory [money].
    """

    currency: Annotated[str, Field(min_length=1, max_length=8)] = "EUR"
    value_short_year_per_t: Money = 180.0
    value_full_year_per_t: Money = 90.0
    value_short_year_per_gj: Money | None = None
    value_full_year_per_gj: Money | None = None
    starch_value_short_year_per_t: Money | None = None
    starch_value_full_year_per_t: Money | None = None
    chance_short_year: Fraction = 0.4
    seed_price_per_unit: Money = 110.0
    kernels_per_unit: Annotated[int, Field(ge=1000, le=500_000)] = 50_000
    harvest_cost_per_t_fresh: Money = 0.0
    area_ha: Annotated[float, Field(gt=0.0, le=20000.0)] = 20.0
    horizon_years: Annotated[float, Field(ge=1.0, le=30.0)] = 5.0
    access: Literal["hire", "own", "shared"] = "hire"
    machine_access: tuple[MachineAccess, ...] = ()
    trial_cost_per_year: Money = 400.0

    @model_validator(mode="after")
    def _values_ordered(self) -> Self:
        if self.value_full_year_per_t > self.value_short_year_per_t:
            message = "a tonne is worth more in a short year than in a full one; swap the two values."
            given, allowed = f"{self.value_full_year_per_t:g}", f"at most {self.value_short_year_per_t:g}"
            raise Contradictions([("value_full_year_per_t", given, allowed, message)])
        short, full = self.value_short_year_per_gj, self.value_full_year_per_gj
        if short is not None and full is not None and full > short:
            message = "a gigajoule is worth more in a short year than in a full one; swap the two values."
            raise Contradictions([("value_full_year_per_gj", f"{full:g}", f"at most {short:g}", message)])
        short, full = self.starch_value_short_year_per_t, self.starch_value_full_year_per_t
        if short is not None and full is not None and full > short:
            message = "a tonne of starch is worth more in a short year than in a full one; swap the two values."
            raise Contradictions([("starch_value_full_year_per_t", f"{full:g}", f"at most {short:g}", message)])
        return self

    @property
    def value_per_t(self) -> float:
        """Expected worth of one more tonne over short and full years [money/t]."""
        short = self.chance_short_year
        return short * self.value_short_year_per_t + (1.0 - short) * self.value_full_year_per_t
