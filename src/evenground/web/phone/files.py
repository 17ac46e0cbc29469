"""The files of the phone page: read once, named by a version that changes with any of them.

They are served below ``/phone/files/<version>/``, so that a page and its parts always belong together, whatever a
browser still keeps of an earlier version, and so that a phone can keep all of them for the field.
"""

from __future__ import annotations

import functools
import gzip
import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from django.utils.translation import override
from django.views.i18n import get_formats

from evenground.web.catalogue import DOMAIN_OF_SCRIPTS, catalogue_of
from evenground.web.phone.icon import draw_icon

FOLDER = Path(__file__).resolve().parent / "static" / "phone"
TRANSLATED = ("de",)
"""Languages beside English; each has a file of words."""
TYPES = {".js": "text/javascript", ".css": "text/css", ".json": "application/json", ".png": "image/png"}
ICON_SIZES = (180, 192, 512)
VERSION_LENGTH = 12


@dataclass(frozen=True)
class File:
    """One file as it is sent.

    Attributes
    ----------
    content_type : str
        Type and encoding.
    body : bytes
        What it holds.
    packed : bytes
        The same, compressed.
    """

    content_type: str
    body: bytes
    packed: bytes


@dataclass(frozen=True)
class AppFiles:
    """All files of the phone page.

    Attributes
    ----------
    version : str
        Changes when any file changes.
    files : mapping
        Name to file.
    """

    version: str
    files: Mapping[str, File]

    @property
    def scripts(self) -> tuple[str, ...]:
        """Names of the scripts."""
        return tuple(n for n in self.files if n.endswith(".js"))


@functools.cache
def app_files() -> AppFiles:
    """Read the files of the phone page, its words and its icons, and name their version."""
    bodies = {p.name: p.read_bytes() for p in sorted(FOLDER.iterdir()) if p.suffix in TYPES}
    bodies |= {f"words-{language}.json": _words(language) for language in TRANSLATED}
    bodies |= {f"icon-{size}.png": draw_icon(size) for size in ICON_SIZES}
    parts = [*bodies.values(), *(p.read_bytes() for p in sorted((FOLDER.parents[1] / "templates").rglob("*.*")))]
    version = hashlib.sha256(b"\0".join([*(n.encode() for n in bodies), *parts])).hexdigest()[:VERSION_LENGTH]
    return AppFiles(version, {name: _file(name, body) for name, body in bodies.items()})


def _words(language: str) -> bytes:
    """Write the words of the scripts in one language, as the page reads them."""
    with override(language):
        formats = get_formats()
    said = {
        "language": language,
        "decimal": formats["DECIMAL_SEPARATOR"],
        "words": catalogue_of(language, DOMAIN_OF_SCRIPTS),
    }
    return json.dumps(said, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode()


def _file(name: str, body: bytes) -> File:
    kind = TYPES[Path(name).suffix]
    typed = kind if kind.startswith("image/") else f"{kind}; charset=utf-8"
    return File(typed, body, gzip.compress(body, 9, mtime=0))
