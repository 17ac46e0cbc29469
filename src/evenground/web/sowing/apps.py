"""The app of settings, cab cards, as sown."""

from __future__ import annotations

from django.apps import AppConfig


class SowingConfig(AppConfig):
    """Settings, cab cards, as sown."""

    name = "evenground.web.sowing"
    label = "sowing"
