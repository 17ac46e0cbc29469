"""Files that were sent and wait to be looked at: kept for a day in the data folder, under names nobody can guess."""

from __future__ import annotations

import json
import re
import secrets
import time
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from django.http import Http404
from django.utils.translation import gettext as _

from evenground.adapters.files import write_atomically
from evenground.basis.errors import InputError, problem

KEPT_S = 24 * 3600.0
_TOKEN = re.compile(r"[0-9a-f]{32}")


@dataclass(frozen=True)
class Upload:
    """A file that waits.

    Attributes
    ----------
    token : str
        Its name here.
    name : str
        Its name on the device it came from.
    data : bytes
        Its content.
    """

    token: str
    name: str
    data: bytes


def sent_file(sent: UploadedFile | None, *, largest_bytes: int) -> tuple[bytes, str]:
    """Return content and name of a file that was sent.

    Parameters
    ----------
    sent : UploadedFile or None
        What came.
    largest_bytes : int
        More is refused unread [B].

    Raises
    ------
    InputError
        If there is none or it is too large.
    """
    if sent is None:
        raise InputError([problem(_("choose a file first."), field="file")])
    if (sent.size or 0) > largest_bytes:
        allowed = _("at most %d MB") % (largest_bytes // 1_000_000)
        raise InputError([problem(_("this file is too large."), field="file", given=sent.name, allowed=allowed)])
    return sent.read(), Path(str(sent.name)).name[:120] or "file"


def keep(data: bytes, name: str, owner: int) -> str:
    """Keep a file for a day and return its token; what is older goes.

    Parameters
    ----------
    data, name : bytes, str
        The file.
    owner : int
        Key of the trial it belongs to; only there it is found again.
    """
    folder = _folder()
    folder.mkdir(parents=True, exist_ok=True)
    for old in folder.iterdir():
        if time.time() - old.stat().st_mtime > KEPT_S:
            old.unlink(missing_ok=True)
    token = secrets.token_hex(16)
    write_atomically(folder / token, data)
    write_atomically(folder / f"{token}.json", json.dumps({"name": name, "owner": owner}).encode())
    return token


def kept(token: str, owner: int) -> Upload:
    """Return a file that was kept.

    Raises
    ------
    Http404
        If there is none of this name in this trial, or its day is over.
    """
    path = _folder() / token
    if not _TOKEN.fullmatch(token) or not path.is_file():
        raise Http404
    about = json.loads((_folder() / f"{token}.json").read_text(encoding="utf-8"))
    if about["owner"] != owner:
        raise Http404
    return Upload(token, about["name"], path.read_bytes())


def _folder() -> Path:
    return Path(settings.DATA) / "uploads"
