"""The app of the plan: question, methods side by side, machines, money, herd, season."""

from __future__ import annotations

from django.apps import AppConfig


class PlanningConfig(AppConfig):
    """The plan: question, methods side by side, machines, money, herd, season."""

    name = "evenground.web.planning"
    label = "planning"
