"""Addresses of season, agenda, crop walk, fairness."""

from __future__ import annotations

from django.urls import URLPattern

app_name = "seasons"
urlpatterns: list[URLPattern] = []
