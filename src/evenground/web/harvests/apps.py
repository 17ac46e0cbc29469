"""The app of harvest day: loads, weighings, joins, samples."""

from __future__ import annotations

from django.apps import AppConfig


class HarvestsConfig(AppConfig):
    """Harvest day: loads, weighings, joins, samples."""

    name = "evenground.web.harvests"
    label = "harvests"
