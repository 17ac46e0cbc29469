"""Addresses of records of any kind: list, add, correct, table in and out."""

from __future__ import annotations

from django.urls import URLPattern

app_name = "records"
urlpatterns: list[URLPattern] = []
