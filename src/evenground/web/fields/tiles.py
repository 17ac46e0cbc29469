"""A background for the map: only from an address the farmer has set, kept in their own session."""

from __future__ import annotations

import re
from dataclasses import dataclass
from urllib.parse import urlsplit

from django.http import HttpRequest
from django.utils.translation import gettext as _

from evenground.basis.errors import InputError, problem

SESSION = "map_tiles"
LONGEST = 300
FORM = "https://…/{z}/{x}/{y}.png"
_HOST = re.compile(r"[A-Za-z0-9.-]{1,200}(?::\d{1,5})?")
_SIGNS = re.compile(r"[A-Za-z0-9:/?&=%._~{}+@-]+")


@dataclass(frozen=True)
class Tiles:
    """Where map pictures come from.

    Attributes
    ----------
    address : str
        With ``{z}``, ``{x}`` and ``{y}``.
    thanks : str
        Whom the map names as their source.
    """

    address: str
    thanks: str

    @property
    def origin(self) -> str:
        """The only place beyond this machine from which the page may load pictures."""
        parts = urlsplit(self.address)
        return f"{parts.scheme}://{parts.netloc}"


def tiles_of(request: HttpRequest) -> Tiles | None:
    """Return the background a person has set, or None."""
    said = request.session.get(SESSION)
    if not isinstance(said, dict):
        return None
    try:
        return checked_tiles(str(said.get("address", "")), str(said.get("thanks", "")))
    except InputError:
        return None


def checked_tiles(address: str, thanks: str) -> Tiles:
    """Return a background after looking at its address.

    Raises
    ------
    InputError
        If the address is not one of map pictures.
    """
    address = address.strip()
    parts = urlsplit(address)
    sound = (
        len(address) <= LONGEST
        and parts.scheme in ("http", "https")
        and _HOST.fullmatch(parts.netloc) is not None
        and _SIGNS.fullmatch(address) is not None
        and all(part in parts.path + parts.query for part in ("{z}", "{x}", "{y}"))
    )
    if not sound:
        text = _("this is not an address of map pictures.")
        raise InputError([problem(text, field="address", given=address[:80], allowed=FORM)])
    return Tiles(address, thanks.strip()[:120])


def keep_tiles(request: HttpRequest, tiles: Tiles | None) -> None:
    """Keep a background in the session of the person, or none."""
    if tiles is None:
        request.session.pop(SESSION, None)
    else:
        request.session[SESSION] = {"address": tiles.address, "thanks": tiles.thanks}
