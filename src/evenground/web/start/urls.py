"""Addresses of the way in: three doors, the list of trials, the overview of one, next year's trial."""

from __future__ import annotations

from django.urls import URLPattern

app_name = "start"
urlpatterns: list[URLPattern] = []
