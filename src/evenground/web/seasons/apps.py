"""The app of season, agenda, crop walk, fairness."""

from __future__ import annotations

from django.apps import AppConfig


class SeasonsConfig(AppConfig):
    """Season, agenda, crop walk, fairness."""

    name = "evenground.web.seasons"
    label = "seasons"
