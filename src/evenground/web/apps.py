"""The parts all pages share: base page, style, catalogue of translations."""

from __future__ import annotations

from django.apps import AppConfig


class WebConfig(AppConfig):
    """Shared templates and static files."""

    name = "evenground.web"
    label = "web"

    def ready(self) -> None:
        """Make the catalogues of translations ready, so that a fresh copy speaks every language it has."""
        from evenground.web.catalogue import compile_at_start

        compile_at_start()
