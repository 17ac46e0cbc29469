"""Photographs from phones, kept beside the trial once."""

from __future__ import annotations

from typing import Literal

from django.contrib.auth.base_user import AbstractBaseUser

from evenground.web.photographs import clean_photo
from evenground.web.trials.models import Trial, TrialFile
from evenground.web.trials.store import DatabaseStore

FOLDER = "photos"


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
