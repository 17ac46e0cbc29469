"""Who is there: on a machine of one's own the person at it needs no password."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponseBase

from evenground.web.accounts.access import NotSignedIn
from evenground.web.accounts.models import User

LOOPBACK = ("127.0.0.1", "::1")


class WhoIsThere:
    """Sign the one local person in where the app listens on loopback only.

    Behind `ALLOWED_HOSTS` a page elsewhere cannot reach this by renaming its own host.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Answer one request."""
        if not settings.NETWORK and not request.user.is_authenticated and request.META.get("REMOTE_ADDR") in LOOPBACK:
            person = User.objects.filter(local=True, is_active=True).first()
            if person is not None:
                request.user = person
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponseBase | None:
        """Lead to the sign-in where nobody is signed in."""
        return redirect_to_login(request.get_full_path()) if isinstance(exception, NotSignedIn) else None
