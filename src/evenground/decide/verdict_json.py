"""The verdict as plain data, with the keys of ``verdict --json``."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from evenground.compare.comparison import none_if_nan
from evenground.decide.side_comparison import SideResult
from evenground.decide.verdict_record import MethodVerdict, PriorSensitivity, Verdict
from evenground.decide.worth import Budget, WayBudget
from evenground.fairness.checks import total_bias


def as_dict(verdict: Verdict) -> dict[str, Any]:
    """Return the whole verdict as plain data: what ``compare`` gives, and money, advice and fairness.

    Keys of the method with the best expected net stand at the top; ``methods`` has them for every method.
    """
    main = verdict.main
    return {
        **verdict.comparison.as_dict(),
        "unit": verdict.harvest.unit,
        "outcome": f"{verdict.plan.outcome.what} yield",
        "outcomes": [_side(s) for s in verdict.side_results],
        "trial": verdict.plan.trial.name,
        "invented": verdict.plan.trial.invented,
        "detectable_gain": verdict.detectable_gain,
        **{k: v for k, v in _method(main).items() if k not in ("baseline", "sentences")},
        "methods": [_method(m) for m in verdict.methods],
        "fairness": {
            "checks": [c.as_dict() for c in verdict.fairness],
            "total_bias_t_per_ha": list(total_bias(verdict.fairness)),
        },
        "strips_harvested": [s.as_dict() for s in verdict.harvest.strips],
        **({"factor_sentences": list(verdict.factor_sentences)} if verdict.factor_sentences else {}),
        **({"not_compared": verdict.not_compared} if verdict.not_compared else {}),
        "weak_points": list(verdict.weak_points),
        "cannot_say": list(verdict.cannot_say),
        "later_changes": list(verdict.later_changes),
        "season": verdict.season or None,
        "headline": verdict.headline,
        "sentence": " ".join(main.sentences),
        "provenance": asdict(verdict.provenance),
    }


def _method(one: MethodVerdict) -> dict[str, Any]:
    posterior, level = one.comparison.posterior, one.comparison.level
    return {
        "method": one.comparison.method,
        "baseline": one.comparison.baseline,
        "worthwhile_gain": none_if_nan(one.worthwhile_gain),
        "feed": None if one.feed is None else asdict(one.feed),
        "chance_it_pays": one.chance_it_pays,
        "chance_it_pays_next_year": one.chance_it_pays_next_year,
        "long_run_gain": {
            "mean": none_if_nan(posterior.mu.mean),
            "sd": none_if_nan(posterior.mu.sd),
            "interval": list(posterior.mu.interval(level)),
        },
        "gain_at_equal_plants": one.adjusted.as_dict() if one.adjusted else None,
        "not_worse": asdict(one.not_worse) if one.not_worse else None,
        "advice": one.advice.as_dict(),
        "money": {k: none_if_nan(v) for k, v in asdict(one.money).items()},
        "budget": _budget(one.budget),
        "sensitivity": [_sensitivity(s) for s in one.sensitivity],
        "sentences": list(one.sentences),
    }


def _sensitivity(one: PriorSensitivity) -> dict[str, Any]:
    return {k: none_if_nan(v) if isinstance(v, float) else v for k, v in asdict(one).items()}


def _budget(one: Budget) -> dict[str, Any]:
    return {
        "currency": one.currency,
        "amount": one.amount,
        "value_per_t": one.value_per_t,
        "value_short_year_per_t": one.value_short_year_per_t,
        "value_full_year_per_t": one.value_full_year_per_t,
        "counted": one.chosen.way,
        "ways": [_way(w) for w in one.ways],
    }


def _way(one: WayBudget) -> dict[str, Any]:
    return {
        "way": one.way,
        "lines": [asdict(line) for line in one.lines],
        "extra_cost_per_ha": one.extra_cost_per_ha,
        "worthwhile_gain": none_if_nan(one.worthwhile_gain),
        "worthwhile_gain_short_year": none_if_nan(one.worthwhile_gain_short_year),
        "worthwhile_gain_full_year": none_if_nan(one.worthwhile_gain_full_year),
        "break_even_ha": none_if_nan(one.break_even_ha),
    }


def _side(one: SideResult) -> dict[str, Any]:
    return {**asdict(one), "interval": list(one.interval)}
