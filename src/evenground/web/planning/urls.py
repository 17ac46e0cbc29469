"""Addresses of the plan: question, methods, machines, money, herd, season, people, and earlier versions."""

from __future__ import annotations

from django.urls import URLPattern, path

from evenground.web.planning import views

app_name = "planning"
urlpatterns: list[URLPattern] = [
    path("plan/", views.plan_page, name="plan"),
    path("plan/versions/", views.versions_page, name="versions"),
    path("plan/versions/<int:number>/", views.version_page, name="version"),
    path("plan/entries/<str:path>/new/", views.new_entry, name="new_entry"),
    path("plan/entries/<str:path>/<int:index>/", views.entry_page, name="entry"),
    path("plan/entries/<str:path>/<int:index>/change/", views.change_entry, name="change_entry"),
    path("plan/<slug:name>/", views.part_page, name="part"),
    path("plan/<slug:name>/change/", views.change_part, name="change_part"),
]
