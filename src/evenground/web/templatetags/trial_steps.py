"""The line of steps above every page of a trial."""

from __future__ import annotations

from typing import Any

from django import template

from evenground.web.steps import STEPS
from evenground.web.trials.models import Trial

register = template.Library()


@register.inclusion_tag("web/steps.html")
def trial_steps(trial: Trial, current: str = "") -> dict[str, Any]:
    """Show the steps; ``current`` is the name of the one this page belongs to."""
    steps = [{"name": s.name, "label": s.label, "url": f"/trials/{trial.slug}/{s.page}"} for s in STEPS]
    return {"steps": steps, "current": current}
