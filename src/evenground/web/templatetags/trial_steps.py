"""The line of steps above every page of a trial."""

from __future__ import annotations

from typing import Any

from django import template

from evenground.web.start.selectors import overview
from evenground.web.steps import STEPS
from evenground.web.trials.models import Trial

register = template.Library()
VERDICT = "verdict"


@register.inclusion_tag("web/steps.html")
def trial_steps(trial: Trial, current: str = "") -> dict[str, Any]:
    """Show the steps; ``current`` is the name of the one this page belongs to."""
    steps = [{"name": s.name, "label": s.label, "url": f"/trials/{trial.slug}/{s.page}"} for s in STEPS]
    return {"steps": steps, "current": current}


@register.inclusion_tag("web/stands.html")
def step_stands(trial: Trial, current: str = "", path: str = "") -> dict[str, Any]:
    """Say on the first page of a step what is known, what is missing, what is next and when; nothing on other pages."""
    step = next((s for s in STEPS if s.name == current), None)
    if step is None or path != f"/trials/{trial.slug}/{step.page}":
        return {}
    found = overview(trial)
    here = next(s for s in found.steps if s.name == current)
    todo = here if here.next else found.next
    known = () if current == VERDICT else here.known  # the page itself is what is known
    return {"known": known, "missing": here.missing, "next": todo, "elsewhere": todo is not here}
