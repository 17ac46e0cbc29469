"""Addresses of https on the farm network, pairing of phones."""

from __future__ import annotations

from django.urls import URLPattern

app_name = "network"
urlpatterns: list[URLPattern] = []
