"""Addresses of the field: upload, draw on a map, walk round it."""

from __future__ import annotations

from django.urls import URLPattern

app_name = "fields"
urlpatterns: list[URLPattern] = []
