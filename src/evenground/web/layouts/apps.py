"""The app of layouts compared and chosen, the draw."""

from __future__ import annotations

from django.apps import AppConfig


class LayoutsConfig(AppConfig):
    """Layouts compared and chosen, the draw."""

    name = "evenground.web.layouts"
    label = "layouts"
