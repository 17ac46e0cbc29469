"""What a method costs more than the baseline on this farm, for each way of getting its machine."""

from __future__ import annotations

from evenground.basis.method import Method
from evenground.basis.money import MachineAccess
from evenground.basis.plan import Plan
from evenground.decide.partial_budget import (
    break_even_area_ha,
    capital_recovery_per_year,
    cost_per_ha,
    worthwhile_gain,
)
from evenground.decide.worth import Budget, BudgetLine, WayBudget
from evenground.harvest.outcome import outcome_per_fresh
from evenground.sowing.seed_spacing import units_per_ha

WAYS = {"hire": "hired", "own": "own machine", "shared": "shared machine"}


def value_after_carrying(plan: Plan, value: float) -> float:
    """Say what one more unit of the outcome is worth once it is carried in [money/t or money/GJ].

    The fresh matter behind it follows from the dry matter and the starch or energy the plan expects.

    Parameters
    ----------
    plan : Plan
        Cost of carrying a tonne fresh, expected dry matter, product.
    value : float
        Worth of one more tonne or gigajoule [money/t or money/GJ].
    """
    outcome = plan.outcome
    fresh_t = 1.0 / (outcome_per_fresh(outcome.expected_dry_matter_percent / 100.0, outcome) * outcome.expected_content)
    return value - fresh_t * plan.money.harvest_cost_per_t_fresh


def budget(plan: Plan, method: Method) -> Budget:
    """Say what must be reached for a method to pay, for each way of getting its machine.

    The baseline is counted as the farm has it now: by the way the plan counts if the plan names it for the baseline,
    else the first way named for it. Where no machine is named for a method its machine costs are taken as alike.

    Parameters
    ----------
    plan : Plan
        Prices, machines and methods.
    method : Method
        Which one.

    Returns
    -------
    Budget
    """
    ways = tuple(_way(plan, method, access) for access in _ways_of(plan, method.letter)) or (_way(plan, method, None),)
    chosen = next((w for w in ways if w.way == plan.money.access), ways[0])
    (short, full), money = plan.values, plan.money
    return Budget(
        method=method.letter,
        baseline=plan.baseline.letter,
        currency=money.currency,
        ways=ways,
        chosen=chosen,
        value_per_t=value_after_carrying(plan, plan.value_of_one),
        value_short_year_per_t=value_after_carrying(plan, short),
        value_full_year_per_t=value_after_carrying(plan, full),
        amount=plan.outcome.amount,
        amount_words=plan.outcome.amount_words,
    )


def ownership_per_year(access: MachineAccess) -> float:
    """Say what an own or shared machine costs a year whatever it works [money/a]; 0 for hire."""
    if access.way == "hire" or access.purchase_price is None or access.years is None:
        return 0.0
    wear = capital_recovery_per_year(
        access.purchase_price, access.salvage_value, access.years, access.interest_fraction
    )
    return wear + access.upkeep_fraction * access.purchase_price


def access_cost_per_ha(access: MachineAccess) -> float:
    """Say what a hectare sown this way costs for the machine [money/ha]."""
    if access.way == "hire" or access.area_ha_per_year is None:
        return (access.price_per_ha or 0.0) + access.running_cost_per_ha
    return cost_per_ha(ownership_per_year(access), access.area_ha_per_year, access.running_cost_per_ha)


def _ways_of(plan: Plan, letter: str) -> tuple[MachineAccess, ...]:
    return tuple(a for a in plan.money.machine_access if a.method == letter)


def _as_now(plan: Plan) -> MachineAccess | None:
    """How the farm gets the baseline's machine; None where the plan does not say."""
    ways = _ways_of(plan, plan.baseline.letter)
    return next((a for a in ways if a.way == plan.money.access), ways[0] if ways else None)


def _way(plan: Plan, method: Method, access: MachineAccess | None) -> WayBudget:
    lines = [_seed_line(plan, method)]
    if access is not None:
        lines.append(_machine_line(plan, access))
    other = method.extra_cost_per_ha - plan.baseline.extra_cost_per_ha
    if other:
        lines.append(BudgetLine("other costs named in the plan", other))
    cost = sum(line.per_ha for line in lines)
    (short, full), money = plan.values, plan.money

    def must_reach(value: float) -> float:
        return worthwhile_gain(cost, value_after_carrying(plan, value))

    return WayBudget(
        way=access.way if access else money.access,
        lines=tuple(lines),
        extra_cost_per_ha=cost,
        worthwhile_gain=must_reach(plan.value_of_one),
        worthwhile_gain_short_year=_or_none(plan, short, cost),
        worthwhile_gain_full_year=_or_none(plan, full, cost),
        break_even_ha=_break_even(plan, access) if access else None,
    )


def _or_none(plan: Plan, value: float, cost: float) -> float | None:
    worth = value_after_carrying(plan, value)
    return worthwhile_gain(cost, worth) if worth > 0.0 else None


def _seed_line(plan: Plan, method: Method) -> BudgetLine:
    if not plan.trial.settings_told:
        return BudgetLine("seed (seed rates not told)", 0.0)
    more = method.seeds_per_m2 - plan.baseline.seeds_per_m2
    if more == 0.0:
        return BudgetLine("seed (as much as the baseline)", 0.0)
    units = units_per_ha(abs(more), plan.money.kernels_per_unit)
    cost = units * plan.money.seed_price_per_unit
    return BudgetLine(f"seed, {units:.2f} units/ha {'more' if more > 0 else 'less'}", cost if more > 0 else -cost)


def _machine_line(plan: Plan, access: MachineAccess) -> BudgetLine:
    now = _as_now(plan)
    against = f"instead of {WAYS[now.way]} as now" if now else "baseline's machine not priced"
    baseline = access_cost_per_ha(now) if now else 0.0
    return BudgetLine(f"machine, {WAYS[access.way]} {against}", access_cost_per_ha(access) - baseline)


def _break_even(plan: Plan, access: MachineAccess) -> float | None:
    """Area from which owning beats hiring the same machine; None for hire or without a hire price."""
    hire = next((a for a in _ways_of(plan, access.method) if a.way == "hire"), None)
    if access.way == "hire" or hire is None:
        return None
    return break_even_area_ha(ownership_per_year(access), access_cost_per_ha(hire), access.running_cost_per_ha)
