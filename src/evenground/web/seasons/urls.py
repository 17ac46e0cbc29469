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
    path("season/walk/photos/<path:name>", walk_views.photograph, name="photograph"),
    path("season/walk/crop-walk.pdf", walk_views.sheet, name="score_sheet"),
    path("season/border/", views.border_page, name="border"),
    path("season/border/pictures/border.svg", views.picture_of_border, name="border_picture"),
    path("season/border/border.pdf", views.paper_of_border, name="border_paper"),
    path("season/border/yields/", views.keep_border, name="keep_border"),
]
