"""The app of verdict, adviser's page, report and papers."""

from __future__ import annotations

from django.apps import AppConfig


class VerdictsConfig(AppConfig):
    """Verdict, adviser's page, report and papers."""

    name = "evenground.web.verdicts"
    label = "verdicts"
