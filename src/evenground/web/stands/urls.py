"""Addresses of the stand: counts, spacing, depth, photographs."""

from __future__ import annotations

from django.urls import URLPattern

app_name = "stands"
urlpatterns: list[URLPattern] = []
