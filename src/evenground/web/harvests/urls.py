"""Addresses of harvest day: loads, weighings, joins, samples."""

from __future__ import annotations

from django.urls import URLPattern

app_name = "harvests"
urlpatterns: list[URLPattern] = []
