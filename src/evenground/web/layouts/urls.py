"""Addresses of the layout."""

from __future__ import annotations

from django.urls import URLPattern, path

from evenground.web.layouts import draw_views, views

app_name = "layouts"
urlpatterns: list[URLPattern] = [
    path("layout/", views.layout_page, name="layout"),
    path("layout/history/", views.history, name="history"),
    path("layout/wishes/", views.wishes, name="wishes"),
    path("layout/search/", views.search, name="search"),
    path("layout/search/state.json", views.search_state, name="search_state"),
    path("layout/search/stop/", views.stop, name="stop"),
    path("layout/heading/", views.choose_heading, name="heading"),
    path("layout/draw/", draw_views.draw_page, name="draw"),
    path("layout/draw/state.json", draw_views.draw_state, name="draw_state"),
    path("layout/draw/keep/", draw_views.keep, name="keep_draw"),
    path("layout/draw/stop/", draw_views.stop_draw, name="stop_draw"),
    path("layout/plan.svg", views.picture, name="picture"),
    path("layout/strips.csv", views.strip_list, name="strip_list"),
    path("layout/hand-over/<slug:form>/", views.handed_over, name="hand_over"),
]
