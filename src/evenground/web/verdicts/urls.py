"""Addresses of verdict, adviser's page, report and papers."""

from __future__ import annotations

from django.urls import URLPattern

app_name = "verdicts"
urlpatterns: list[URLPattern] = []
