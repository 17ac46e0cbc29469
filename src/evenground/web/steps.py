"""The eight steps of a trial, in the order of the job, and the page each begins with."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _


@dataclass(frozen=True)
class Step:
    """One step: its name in code, its label on a screen, and its first page below the trial's address."""

    name: str
    label: str | Promise
    page: str


STEPS = (
    Step("plan", _("Question and methods"), "plan/"),
    Step("field", _("Field"), "field/"),
    Step("layout", _("Layout"), "layout/"),
    Step("sowing", _("Sowing"), "sowing/"),
    Step("stand", _("Stand"), "stand/"),
    Step("season", _("Season"), "season/"),
    Step("harvest", _("Harvest"), "harvest/"),
    Step("verdict", _("Verdict"), "verdict/"),
)
