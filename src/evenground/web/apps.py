"""The parts all pages share: base page, style, catalogue of translations."""

from __future__ import annotations

from django.apps import AppConfig


class WebConfig(AppConfig):
    """Shared templates and static files."""

    name = "evenground.web"
    label = "web"
