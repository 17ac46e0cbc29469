"""Addresses of settings, cab cards, as sown."""

from __future__ import annotations

from django.urls import URLPattern

app_name = "sowing"
urlpatterns: list[URLPattern] = []
