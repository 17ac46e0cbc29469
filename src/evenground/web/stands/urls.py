"""Addresses of the stand: counts, spacing, depth, photographs."""

from __future__ import annotations

from django.urls import URLPattern, path

from evenground.web.stands import photo_views, views

app_name = "stands"
urlpatterns: list[URLPattern] = [
    path("stand/", views.stand_page, name="stand"),
    path("stand/space.svg", views.space_picture, name="space"),
    path("stand/count-sheet.pdf", views.sheet, name="sheet"),
    path("stand/photo/", photo_views.send, name="photo"),
    path("stand/photo/<slug:token>/", photo_views.mark, name="photo_mark"),
    path("stand/photo/<slug:token>/picture.jpg", photo_views.picture, name="photo_picture"),
    path("stand/photo/<slug:token>/plants/", photo_views.plants, name="photo_plants"),
    path("stand/photo/<slug:token>/overlay.png", photo_views.overlay, name="photo_overlay"),
    path("stand/photo/<slug:token>/stop/", photo_views.stop, name="photo_stop"),
]
