"""The app of trials in and out as zip, records as tables, backup of the farm."""

from __future__ import annotations

from django.apps import AppConfig


class TransferConfig(AppConfig):
    """Trials in and out as zip, records as tables, backup of the farm."""

    name = "evenground.web.transfer"
    label = "transfer"
