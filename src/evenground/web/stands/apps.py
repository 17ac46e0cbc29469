"""The app of the stand: counts, spacing, depth, photographs."""

from __future__ import annotations

from django.apps import AppConfig


class StandsConfig(AppConfig):
    """The stand: counts, spacing, depth, photographs."""

    name = "evenground.web.stands"
    label = "stands"
