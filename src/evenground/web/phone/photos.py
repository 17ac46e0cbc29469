"""Photographs from phones: looked at, written anew without what the camera added, and kept beside the trial once."""

from __future__ import annotations

import io
import warnings
from typing import Literal

from django.contrib.auth.base_user import AbstractBaseUser
from django.utils.translation import gettext as _
from PIL import Image, ImageOps, UnidentifiedImageError

from evenground.basis.errors import InputError, problem
from evenground.web.trials.models import Trial, TrialFile
from evenground.web.trials.store import DatabaseStore

FOLDER = "photos"
LARGEST_PHOTO_BYTES = 15_000_000
LARGEST_PHOTO_PIXELS = 60_000_000
"""The largest camera of a phone in sight has 50 million; a picture that says more is meant to fill the memory."""
QUALITY = 88
GPS_TAG = 0x8825


def keep_photo(
    *, trial: Trial, name: str, data: bytes, by: AbstractBaseUser | None, keep_place: bool = False
) -> Literal["stored", "already"]:
    """Keep a photograph; one that is there already is left alone.

    Parameters
    ----------
    trial : Trial
        The trial it belongs to.
    name : str
        Its id, made on the phone.
    data : bytes
        JPEG or PNG.
    by : user or None
        Who sent it.
    keep_place : bool
        Whether the place where it was taken stays in it; time, camera and everything else never do.

    Raises
    ------
    InputError
        If it is no such picture, or too large.
    """
    path = f"{FOLDER}/{name}.jpg"
    if TrialFile.objects.filter(trial=trial, path=path).exists():
        return "already"
    clean = clean_photo(data, keep_place=keep_place)
    with DatabaseStore(trial, by).locked():
        _, new = TrialFile.objects.get_or_create(trial=trial, path=path, defaults={"content": clean})
    return "stored" if new else "already"


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
            upright = ImageOps.exif_transpose(picture).convert("RGB")
            bare = Image.new("RGB", upright.size)
            bare.paste(upright)
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
