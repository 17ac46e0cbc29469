"""Addresses of sowing: settings, cab cards, three taps a pass, planter logs."""

from __future__ import annotations

from django.urls import URLPattern, path

from evenground.web.sowing import views

app_name = "sowing"
urlpatterns: list[URLPattern] = [
    path("sowing/", views.settings_page, name="settings"),
    path("sowing/agreed/", views.agree, name="agree"),
    path("sowing/cards/<str:letter>.pdf", views.cab_card, name="card"),
    path("sowing/as-sown/", views.as_sown, name="as_sown"),
    path("sowing/as-sown/strips/", views.sown, name="sown"),
    path("sowing/log/", views.planter_log, name="log"),
]
