"""Addresses of harvest day."""

from __future__ import annotations

from django.urls import URLPattern, path

from evenground.web.harvests import views

app_name = "harvests"
urlpatterns: list[URLPattern] = [
    path("harvest/", views.harvest_page, name="harvest"),
    path("harvest/state.json", views.state, name="state"),
    path("harvest/enter/<slug:kind>/", views.enter, name="enter"),
    path("harvest/joins/<path:weighing_id>/", views.join, name="join"),
    path("harvest/worth/", views.worth_page, name="worth"),
    path("harvest/harvest-pack.pdf", views.pack, name="pack"),
]
