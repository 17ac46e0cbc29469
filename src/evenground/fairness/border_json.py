"""A border comparison as the object of ``border --json``."""

from __future__ import annotations

from typing import Any

from evenground.fairness.border import REASON, BorderAnswer
from evenground.fairness.border_words import last_sentence
from evenground.numerics.border_step import BorderStep


def as_dict(answer: BorderAnswer) -> dict[str, Any]:
    """Return the object of ``border --json``; it never holds a p-value.

    Parameters
    ----------
    answer : BorderAnswer
        From `border_comparison`.
    """
    fit, past = answer.fit, answer.earlier
    return {
        "baseline": answer.baseline,
        "method": answer.method,
        "unit": answer.unit,
        "way": answer.way,
        "step": answer.step,
        "step_standard_error": answer.step_standard_error,
        "mean_t_per_ha": answer.mean_t_per_ha,
        "placebo_sd": answer.placebo_sd,
        "placebo_sd_percent": answer.spread.percent,
        "placebo_df": answer.spread.df,
        "placebo_source": answer.spread.source,
        "placebo_steps": [s.__dict__ for s in answer.spread.own],
        "interval": list(answer.interval),
        "interval_without_explanations": list(answer.interval_without_explanations),
        "interval_is": "at least this wide",
        "level": answer.level,
        "explanations": [e.as_dict() for e in answer.explanations],
        "near_the_border": None if fit is None else _fit_dict(fit),
        "sensitivity": [{"bandwidth_m": h, "step": s} for h, s in answer.sensitivity],
        "earlier": None if past is None else {**past.__dict__, "years": list(past.years), "sentence": past.sentence},
        "next_year": [n.__dict__ for n in answer.next_year],
        "advice": {"action": "cannot_tell", "reason": f"{REASON} {last_sentence(answer.next_year)}"},
        "notes": list(answer.notes),
    }


def _fit_dict(fit: BorderStep) -> dict[str, Any]:
    pairs = fit.pair_differences
    return {
        "bandwidth_m": fit.bandwidth,
        "places": fit.cells,
        "reach_m": fit.reach,
        "nugget_share": fit.nugget_share,
        "pairs": [float(p) for p in pairs],
        "pairs_mean": float(pairs.mean()) if len(pairs) else None,
        "pairs_sd": float(pairs.std(ddof=1)) if len(pairs) > 1 else None,
    }
