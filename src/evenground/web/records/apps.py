"""The app of records of any kind: list, add, correct, table in and out."""

from __future__ import annotations

from django.apps import AppConfig


class RecordsConfig(AppConfig):
    """Records of any kind: list, add, correct, table in and out."""

    name = "evenground.web.records"
    label = "records"
