"""Addresses of the season: weather, agenda, fairness, border."""

from __future__ import annotations

from django.urls import URLPattern, path

from evenground.web.seasons import views, walk_views

app_name = "seasons"
urlpatterns: list[URLPattern] = [
    path("season/", views.season_page, name="season"),
    path("season/pictures/season.svg", views.picture, name="picture"),
    path("season/agenda.ics", views.agenda, name="agenda"),
    path("season/weather/", views.weather, name="weather"),
    path("season/fairness/", views.fairness_page, name="fairness"),
    path("season/walk/", walk_views.seen, name="walk"),
    path("season/walk/score/", walk_views.score, name="score"),
    path("season/border/", views.border_page, name="border"),
    path("season/border/yields/", views.keep_border, name="keep_border"),
]
