"""Addresses of records of any kind: list, add, correct, table in and out."""

from __future__ import annotations

from django.urls import URLPattern, path

from evenground.web.records import views

app_name = "records"
urlpatterns: list[URLPattern] = [
    path("records/", views.overview, name="overview"),
    path("records/held/<int:number>/", views.held_entry, name="held"),
    path("records/<slug:kind>/", views.kind_page, name="kind"),
    path("records/<slug:kind>/add/", views.add, name="add"),
    path("records/<slug:kind>/upload/", views.upload, name="upload"),
]
