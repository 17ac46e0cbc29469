"""The arithmetic of a partial budget: only what changes is counted."""

from __future__ import annotations

import math


def net(gain: float, value: float, extra_cost: float) -> float:
    """Say what a change leaves over: what it brings minus what it costs more [money, per hectare or in all].

    Parameters
    ----------
    gain : float
        More of something sold or fed [t, or 1 where ``value`` is money already].
    value : float
        Worth of one of it [money per unit of ``gain``].
    extra_cost : float
        Costs that come minus costs that go [money].

    Source: partial budget (added revenue + saved cost) - (lost revenue + added cost); any farm management text.

    Examples
    --------
    >>> round(net(0.6, 126.0, 50.0), 2)
    25.6
    """
    return gain * value - extra_cost


def worthwhile_gain(extra_cost_per_ha: float, value_per_t: float) -> float:
    """Say how large the gain must be to pay its cost [t/ha].

    Where one more tonne is worth nothing no gain pays a cost (infinite), and every gain pays a saving (minus
    infinity); without a cost to pay it is 0.

    Parameters
    ----------
    extra_cost_per_ha : float
        Costs against the baseline [money/ha]; negative is a saving.
    value_per_t : float
        Worth of one more tonne after carrying it [money/t].

    Source: break-even of `net`.

    Examples
    --------
    >>> worthwhile_gain(63.0, 126.0), worthwhile_gain(63.0, 0.0)
    (0.5, inf)
    """
    if value_per_t > 0.0:
        return extra_cost_per_ha / value_per_t
    return math.copysign(math.inf, extra_cost_per_ha) if extra_cost_per_ha else 0.0


def capital_recovery_per_year(purchase_price: float, salvage_value: float, years: float, interest: float) -> float:
    """Say what a machine costs a year in wear and interest [money/a].

    Parameters
    ----------
    purchase_price, salvage_value : float
        Price new and value at the end [money].
    years : float
        Years of use [a].
    interest : float
        Yearly interest as a fraction [1/a].

    Raises
    ------
    ValueError
        If the years are not above zero or the interest is negative.

    Source: CRF x (P - S) + i S with CRF = i (1 + i)^n / ((1 + i)^n - 1);
    Iowa State University, Ag Decision Maker A3-29.

    Examples
    --------
    >>> round(capital_recovery_per_year(130_000, 34_500, 15, 0.08))
    13917
    """
    if not years > 0.0 or interest < 0.0:
        raise ValueError(f"years must be above 0 and interest at least 0, not {years} and {interest}")
    lost = purchase_price - salvage_value
    if interest == 0.0:
        return lost / years
    factor = interest / -math.expm1(-years * math.log1p(interest))
    return factor * lost + interest * salvage_value


def cost_per_ha(ownership_per_year: float, area_ha_per_year: float, running_cost_per_ha: float) -> float:
    """Spread what owning costs a year over the area worked, and add what each hectare costs [money/ha].

    Raises
    ------
    ValueError
        If the area is not above zero.
    """
    if not area_ha_per_year > 0.0:
        raise ValueError(f"the area must be above 0 ha, not {area_ha_per_year}")
    return ownership_per_year / area_ha_per_year + running_cost_per_ha


def break_even_area_ha(ownership_per_year: float, hire_per_ha: float, running_cost_per_ha: float) -> float | None:
    """Say from which area a year owning is cheaper than hiring [ha/a]; None where it never is.

    Source: annual ownership cost / (hire price - own running cost); agricultural engineering texts.

    Examples
    --------
    >>> round(break_even_area_ha(1000.0, 21.0, 4.0), 2)
    58.82
    """
    saved = hire_per_ha - running_cost_per_ha
    return ownership_per_year / saved if saved > 0.0 else None
