"""The app of the way in: three doors, the list of trials, the overview of one, next year's trial."""

from __future__ import annotations

from django.apps import AppConfig


class StartConfig(AppConfig):
    """The way in: three doors, the list of trials, the overview of one, next year's trial."""

    name = "evenground.web.start"
    label = "start"
