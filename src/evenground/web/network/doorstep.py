"""The doorstep: a plain-http port that hands out the farm's authority and says how to install it, and nothing else.

A phone cannot open the https address before it trusts the authority, so these few words must come over http. Nothing
secret is here: the certificate is public, and its fingerprint is compared with the one on the farm's own screen.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from html import escape
from typing import Any

from django.conf import settings
from django.utils.translation import get_language, override
from django.utils.translation import gettext as _
from django.utils.translation.trans_real import parse_accept_lang_header

CERTIFICATE_TYPE = "application/x-x509-ca-cert"
StartResponse = Callable[[str, list[tuple[str, str]]], Any]
Doorstep = Callable[[dict[str, Any], StartResponse], Iterable[bytes]]

_STYLE = (
    "body{margin:0 auto;max-width:34rem;padding:1rem;font:1.15rem/1.5 Georgia,serif;color:#1d1d1b;background:#fdfcf8}"
    "h1{font-size:1.5rem;line-height:1.25}li{margin:.6rem 0}"
    "a.get{display:inline-block;padding:.9rem 1.3rem;background:#005a8e;color:#fff;border-radius:4px}"
    "code{overflow-wrap:anywhere;font-size:.95rem}"
)


def install_steps() -> list[tuple[str, list[str]]]:
    """Return the few steps for each kind of phone; menus differ a little between versions."""
    return [
        (
            _("Phones that load a profile"),
            [
                _("Open this page in the phone's own browser and tap the button above; allow the download."),
                _("Settings: the downloaded profile is shown at the top. Install it."),
                _("Settings, General, About, Certificate Trust Settings: switch “evenground on this farm” on."),
            ],
        ),
        (
            _("Phones that save a file"),
            [
                _("Tap the button above; the file is saved among the downloads."),
                _("Settings: search for “CA certificate”, choose it, confirm the warning and pick the file."),
                _("The names of these menus differ between phones; the search in the settings finds them."),
            ],
        ),
    ]


def doorstep(certificate: bytes, fingerprint: str, address: str) -> Doorstep:
    """Return the WSGI application of the doorstep.

    Parameters
    ----------
    certificate : bytes
        The authority's certificate, DER.
    fingerprint : str
        Its SHA-256 in pairs.
    address : str
        The https address phones go to afterwards.
    """

    def application(environ: dict[str, Any], start_response: StartResponse) -> Iterable[bytes]:
        path, method = environ.get("PATH_INFO", "/"), environ.get("REQUEST_METHOD", "GET")
        if method not in ("GET", "HEAD"):
            return _answer(start_response, "405 Method Not Allowed", "text/plain", b"GET")
        if path == "/farm.crt":
            return _answer(start_response, "200 OK", CERTIFICATE_TYPE, certificate)
        if path == "/":
            with override(_language(environ.get("HTTP_ACCEPT_LANGUAGE", ""))):
                text = page(fingerprint, address)
            return _answer(start_response, "200 OK", "text/html; charset=utf-8", text.encode())
        return _answer(start_response, "404 Not Found", "text/plain; charset=utf-8", b"Not here.")

    return application


def _language(asked: str) -> str:
    """Return the first language the phone asks for in which there are words, else the app's own."""
    known = {code.split("-")[0]: code for code, _name in settings.LANGUAGES}
    wanted = (code.split("-")[0] for code, _share in parse_accept_lang_header(asked.lower()))
    return next((known[code] for code in wanted if code in known), settings.LANGUAGE_CODE)


def page(fingerprint: str, address: str) -> str:
    """Return the page of the doorstep."""
    parts = "".join(
        f"<h2>{escape(kind)}</h2><ol>{''.join(f'<li>{escape(step)}</li>' for step in steps)}</ol>"
        for kind, steps in install_steps()
    )
    title = escape(_("Let this phone trust your farm's computer"))
    why = escape(
        _("Done once. After that the phone page works without reception, and the phone can tell which strip it is in.")
    )
    compare = escape(_("Compare this fingerprint with the one on the farm's screen:"))
    get, then = escape(_("Get the certificate")), escape(_("Then"))
    return (
        f'<!doctype html><html lang="{get_language()}"><head><meta charset="utf-8"><title>{title}</title>'
        f'<meta name="viewport" content="width=device-width, initial-scale=1"><style>{_STYLE}</style></head>'
        "<body><main>"
        f"<h1>{title}</h1><p>{why}</p>"
        f'<p><a class="get" href="/farm.crt">{get}</a></p>'
        f"<p>{compare}<br><code>{escape(fingerprint)}</code></p>{parts}"
        f'<h2>{then}</h2><p><a href="{escape(address)}">{escape(address)}</a></p></main></body></html>'
    )


def _answer(start_response: StartResponse, status: str, kind: str, body: bytes) -> Iterable[bytes]:
    headers = [
        ("Content-Type", kind),
        ("Content-Length", str(len(body))),
        ("X-Content-Type-Options", "nosniff"),
        ("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'"),
        ("Cache-Control", "no-store"),
    ]
    start_response(status, headers)
    return [body]
