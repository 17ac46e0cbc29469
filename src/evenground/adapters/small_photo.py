"""Photographs for a report: read from the trial, turned upright, made small, without anything the camera added."""

from __future__ import annotations

import io
import warnings
from collections.abc import Callable, Iterable
from pathlib import Path

from PIL import Image, ImageOps

from evenground.adapters.reading import read_bytes
from evenground.basis.errors import InputError

LONGEST_SIDE = 480
QUALITY = 72
LARGEST_BYTES = 50_000_000
LARGEST_PIXELS = 60_000_000
"""A picture that says it is larger is not unpacked: it is meant to fill the memory."""
Reader = Callable[[str], bytes | None]
"""Returns the photograph of a name inside the trial folder; None where there is none."""


def folder_reader(folder: Path) -> Reader:
    """Return a reader of the photographs of a trial folder; nothing outside it is read, by links neither.

    Parameters
    ----------
    folder : Path
        The trial folder.
    """
    root = folder.resolve()

    def read(name: str) -> bytes | None:
        try:
            path = (root / name).resolve()
            return read_bytes(path, name, LARGEST_BYTES) if path.is_relative_to(root) else None
        except (InputError, OSError, ValueError):
            return None

    return read


def small_photos(names: Iterable[str], read: Reader) -> dict[str, bytes]:
    """Return the photographs that can be shown, by name; those that are missing or damaged are left out.

    Parameters
    ----------
    names : iterable of str
        Places inside the trial folder.
    read : callable
        Reads one.
    """
    found = {}
    for name in names:
        data = read(name)
        small = small_photo(data) if data is not None else None
        if small is not None:
            found[name] = small
    return found


def small_photo(data: bytes) -> bytes | None:
    """Return a photograph as a JPEG of at most 480 pixels a side, the same bytes each time; None if it is none.

    Parameters
    ----------
    data : bytes
        JPEG or PNG.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)  # the size is looked at right below
            picture = Image.open(io.BytesIO(data), formats=("JPEG", "PNG"))
            if picture.width * picture.height > LARGEST_PIXELS:
                return None
            picture.draft("RGB", (2 * LONGEST_SIDE, 2 * LONGEST_SIDE))
            upright = ImageOps.exif_transpose(picture)
            bare = upright.convert("RGB")
            bare.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
            bare.info = {}
            out = io.BytesIO()
            bare.save(out, "JPEG", quality=QUALITY)
    except (OSError, SyntaxError, ValueError, TypeError, KeyError, MemoryError, Image.DecompressionBombError):
        return None
    return out.getvalue()


def size_of(jpeg: bytes) -> tuple[int, int]:
    """Return width and height of a photograph [pixels].

    Parameters
    ----------
    jpeg : bytes
        From `small_photo`.
    """
    return Image.open(io.BytesIO(jpeg), formats=("JPEG",)).size
