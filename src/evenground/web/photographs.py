"""Photographs people send: looked at, and written anew without what the camera added."""

from __future__ import annotations

import io
import warnings

from django.utils.translation import gettext as _
from PIL import Image, ImageOps, UnidentifiedImageError

from evenground.basis.errors import InputError, problem

LARGEST_PHOTO_BYTES = 15_000_000
LARGEST_PHOTO_PIXELS = 60_000_000
"""The largest camera of a phone in sight has 50 million; a picture that says more is meant to fill the memory."""
QUALITY = 88
GPS_TAG = 0x8825


def clean_photo(data: bytes, *, keep_place: bool = False) -> bytes:
    """Return a picture as JPEG without metadata, turned the way it was held.

    Raises
    ------
    InputError
        If it is no JPEG or PNG, damaged, or too large.
    """
    if len(data) > LARGEST_PHOTO_BYTES:
        given, allowed = f"{len(data) / 1e6:.1f} MB", f"{LARGEST_PHOTO_BYTES / 1e6:g} MB"
        raise InputError([problem(_("This photograph is too large."), field="file", given=given, allowed=allowed)])
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)  # the size is looked at right below
            picture = Image.open(io.BytesIO(data), formats=("JPEG", "PNG"))
            if picture.width * picture.height > LARGEST_PHOTO_PIXELS:
                given, allowed = f"{picture.width} x {picture.height}", f"{LARGEST_PHOTO_PIXELS / 1e6:g} million points"
                raise InputError([problem(_("This picture is too large."), field="file", given=given, allowed=allowed)])
            place = dict(picture.getexif().get_ifd(GPS_TAG)) if keep_place else {}
            picture.load()
            ImageOps.exif_transpose(picture, in_place=True)
            bare = picture if picture.mode == "RGB" else picture.convert("RGB")
            bare.info = {}  # what is written below comes from the points alone, without a second copy of them
            out = io.BytesIO()
            bare.save(out, "JPEG", quality=QUALITY, exif=_only_place(place))
    except InputError:
        raise
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError, TypeError, Image.DecompressionBombError) as error:
        text = _("This is not a photograph that can be opened.")
        raise InputError([problem(text, field="file", allowed="JPEG, PNG")]) from error
    return out.getvalue()


def _only_place(place: dict[int, object]) -> bytes:
    """Return metadata that say the place and nothing else; empty where it is not wanted."""
    if not place:
        return b""
    exif = Image.Exif()
    exif.get_ifd(GPS_TAG).update(place)
    return exif.tobytes()
