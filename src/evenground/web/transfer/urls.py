"""Addresses of trials in and out as zip, records as tables, backup of the farm."""

from __future__ import annotations

from django.urls import URLPattern, path

from evenground.web.transfer import views

app_name = "transfer"
urlpatterns: list[URLPattern] = [
    path("trials/<slug:slug>/move/", views.move, name="move"),
    path("trials/<slug:slug>/move/trial.zip", views.trial_zip, name="trial_zip"),
    path("trials/<slug:slug>/move/<slug:kind>.csv", views.records_table, name="records_table"),
    path("backup/", views.backup, name="backup"),
    path("backup/<int:number>/farm.zip", views.farm_zip, name="farm_zip"),
    path("backup/bring/", views.bring, name="bring"),
    path("backup/work/", views.working, name="working"),
    path("backup/pieces/", views.begin_pieces, name="begin_pieces"),
    path("backup/pieces/<slug:token>/<int:at>/", views.add_piece, name="add_piece"),
    path("backup/put-back/", views.put_back, name="put_back"),
]
