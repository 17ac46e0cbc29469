"""Response headers that keep every page to this machine's own files."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponseBase

# Pages use no inline script and no inline style; pictures may be data of our own. `csp_img` adds a tile address.
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:{tiles}; font-src 'self'; "
    "connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'; frame-src 'self'"
)
# A report is one file with its style inside; it may load nothing and run nothing.
REPORT_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'self'; sandbox"


class SecurityHeaders:
    """Set the content security policy and what pages may ask the browser for.

    A view sets ``response.csp`` to a policy of its own, or ``response.csp_tiles`` to the origin of map tiles that the
    farmer has named.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Answer one request."""
        response = self.get_response(request)
        tiles = getattr(response, "csp_tiles", "")
        policy = getattr(response, "csp", None) or POLICY.format(tiles=f" {tiles}" if tiles else "")
        response.headers.setdefault("Content-Security-Policy", policy)
        response.headers.setdefault("Permissions-Policy", "geolocation=(self), camera=(self), microphone=()")
        response.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        # What shows somebody's data is asked for again each time: after signing out nobody reads it from the browser's
        # store. It is not forbidden to keep a page open, so that Back brings a half-filled form with its text.
        response.headers.setdefault("Cache-Control", "private, no-cache")
        return response
