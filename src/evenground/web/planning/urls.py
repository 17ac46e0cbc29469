"""Addresses of the plan: question, methods side by side, machines, money, herd, season."""

from __future__ import annotations

from django.urls import URLPattern

app_name = "planning"
urlpatterns: list[URLPattern] = []
