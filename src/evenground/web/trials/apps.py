"""The app of the store."""

from __future__ import annotations

from django.apps import AppConfig


class TrialsConfig(AppConfig):
    """The store."""

    name = "evenground.web.trials"
    label = "trials"
