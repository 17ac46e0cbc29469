"""Addresses of the phone page and the end point that takes its entries."""

from __future__ import annotations

from django.urls import URLPattern

app_name = "phone"
urlpatterns: list[URLPattern] = []
