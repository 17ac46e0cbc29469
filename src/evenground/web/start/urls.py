"""Addresses of the way in."""

from __future__ import annotations

from django.urls import path

from evenground.web.start import views

app_name = "start"
urlpatterns = [
    path("", views.home, name="home"),
    path("new/", views.new, name="new"),
    path("new/<slug:door>/", views.new, name="door"),
    path("due/", views.due_page, name="due"),
    path("trials/<slug:slug>/", views.trial_page, name="trial"),
    path("trials/<slug:slug>/put-away/", views.put_away, name="put_away"),
    path("trials/<slug:slug>/next-year/", views.next_year, name="next_year"),
    path("trials/<slug:slug>/pattern/", views.pattern, name="pattern"),
    path("trials/<slug:slug>/weights/", views.weights_page, name="weights"),
    path("trials/<slug:slug>/sown/", views.sown_page, name="sown"),
]
