"""The phone page, its worker and its files. None of them holds anything of a farm, so they are open to everybody."""

from __future__ import annotations

import json

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext
from django.views.decorators.cache import cache_control, never_cache
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_safe
from django.views.decorators.vary import vary_on_headers

from evenground.web.accounts.access import day_link
from evenground.web.phone import files

PAPER, ACT = "#fdfcf8", "#005a8e"
A_YEAR_S = 31_536_000


@never_cache
@ensure_csrf_cookie
@require_safe
def page(request: HttpRequest) -> HttpResponse:
    """Show the phone page: a shell that its scripts fill."""
    app = files.app_files()
    return render(request, "phone/page.html", {"version": app.version, "scripts": app.scripts, "paper": PAPER})


@never_cache
@require_safe
def worker(request: HttpRequest) -> HttpResponse:
    """Give the script that keeps the page for the field; with ``plain`` in the address, the form for older browsers."""
    app = files.app_files()
    context = {
        "version": app.version,
        "names": json.dumps([n for n in app.files if not n.startswith("icon-512")]),
        "plain": "plain" in request.GET,
    }
    return render(request, "phone/worker.js", context, content_type="text/javascript; charset=utf-8")


@never_cache
@require_safe
def manifest(_request: HttpRequest) -> JsonResponse:
    """Give what a phone needs to put the page among its apps."""
    version = files.app_files().version
    icons = [
        {
            "src": f"/phone/files/{version}/icon-{size}.png",
            "sizes": f"{size}x{size}",
            "type": "image/png",
            "purpose": use,
        }
        for size in (192, 512)
        for use in ("any", "maskable")
    ]
    said = {
        "id": "/phone/",
        "name": gettext("evenground in the field"),
        "short_name": "evenground",
        "start_url": "/phone/",
        "scope": "/phone/",
        "display": "standalone",
        "background_color": PAPER,
        "theme_color": ACT,
        "icons": icons,
    }
    return JsonResponse(said, content_type="application/manifest+json")


@cache_control(max_age=A_YEAR_S, immutable=True, public=True)
@vary_on_headers("Accept-Encoding")
@require_safe
def file(request: HttpRequest, version: str, name: str) -> HttpResponse:
    """Give one file of the page; only of the version that is served now."""
    app = files.app_files()
    if version != app.version or name not in app.files:
        raise Http404
    found = app.files[name]
    packed = "gzip" in request.headers.get("Accept-Encoding", "")
    response = HttpResponse(found.packed if packed else found.body, content_type=found.content_type)
    if packed:
        response.headers["Content-Encoding"] = "gzip"
    return response


@never_cache
@require_safe
def here(request: HttpRequest) -> JsonResponse:
    """Say that the farm is there: who is signed in, what its clock says, and the token with which entries are sent."""
    user = request.user
    link = None if user.is_authenticated else day_link(request)
    name = (user.get_full_name() or user.get_username()) if user.is_authenticated else ""
    said = {
        "signed_in": user.is_authenticated or link is not None,
        "who": "" if getattr(user, "local", False) else name,
        "day_link": link is not None,
        "now": timezone.localtime().isoformat(timespec="seconds"),
        "token": get_token(request),
        "version": files.app_files().version,
    }
    return JsonResponse(said)
