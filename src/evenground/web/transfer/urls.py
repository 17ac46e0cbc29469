"""Addresses of trials in and out as zip, records as tables, backup of the farm."""

from __future__ import annotations

from django.urls import URLPattern

app_name = "transfer"
urlpatterns: list[URLPattern] = []
