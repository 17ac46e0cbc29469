"""Addresses of the field: upload, drawing, walking round it."""

from __future__ import annotations

from django.urls import URLPattern, path

from evenground.web.fields import views

app_name = "fields"
urlpatterns: list[URLPattern] = [
    path("field/", views.field_page, name="field"),
    path("field/outline.svg", views.picture, name="picture"),
    path("field/features.json", views.features, name="features"),
    path("field/upload/", views.upload, name="upload"),
    path("field/choose/", views.choose, name="choose"),
    path("field/corners/", views.corners, name="corners"),
    path("field/draw/", views.draw, name="draw"),
    path("field/save/", views.save, name="save"),
    path("field/tiles/", views.tiles, name="tiles"),
    path("field/walk/", views.walk, name="walk"),
    path("field/walked/", views.walked, name="walked"),
]
