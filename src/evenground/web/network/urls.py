"""Addresses of https on the farm network and the pairing of phones."""

from __future__ import annotations

from django.urls import path

from evenground.web.network import views

app_name = "network"
urlpatterns = [
    path("", views.phones, name="phones"),
    path("code/", views.make_code, name="make_code"),
    path("pair/", views.pair, name="pair"),
    path("pair/<str:code>/", views.pair, name="pair_with"),
]
