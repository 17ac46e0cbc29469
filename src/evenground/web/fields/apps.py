"""The app of the field: upload, draw on a map, walk round it."""

from __future__ import annotations

from django.apps import AppConfig


class FieldsConfig(AppConfig):
    """The field: upload, draw on a map, walk round it."""

    name = "evenground.web.fields"
    label = "fields"
