"""Addresses of layouts compared and chosen, the draw."""

from __future__ import annotations

from django.urls import URLPattern

app_name = "layouts"
urlpatterns: list[URLPattern] = []
