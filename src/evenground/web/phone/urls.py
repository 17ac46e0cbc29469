"""Addresses of the phone page and the end point that takes its entries."""

from __future__ import annotations

from django.urls import URLPattern, path

from evenground.web.phone import api, views

app_name = "phone"
urlpatterns: list[URLPattern] = [
    path("", views.page, name="page"),
    path("worker.js", views.worker, name="worker"),
    path("manifest.webmanifest", views.manifest, name="manifest"),
    path("here/", views.here, name="here"),
    path("files/<slug:version>/<str:name>", views.file, name="file"),
    path("api/entries/", api.entries, name="entries"),
    path("api/photos/", api.photos, name="photos"),
    path("api/trials/", api.trials, name="trials"),
    path("api/kinds/", api.kinds, name="kinds"),
    path("api/held/", api.held, name="held"),
]
