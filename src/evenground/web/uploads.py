"""Files that were sent and wait to be looked at: kept for a day in the data folder, under names nobody can guess."""

from __future__ import annotations

import contextlib
import json
import re
import secrets
import time
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from django.http import Http404, HttpRequest
from django.utils.translation import gettext as _

from evenground.adapters.files import write_atomically
from evenground.basis.errors import InputError, problem

KEPT_S = 24 * 3600.0
MOST_WAITING = 30
"""Files of one trial that wait at the same time; a hundred more would only fill the disk."""
LONGEST_NAME_BYTES = 120
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
    return sent.read(), _short(Path(str(sent.name)).name) or "file"


def _short(name: str) -> str:
    """Cut a name to what every file system takes, keeping its ending; signs count by their bytes."""
    stem, ending = Path(name).stem, Path(name).suffix
    ending = ending if len(ending.encode()) <= LONGEST_NAME_BYTES // 4 else ""
    room = LONGEST_NAME_BYTES - len(ending.encode())
    return stem.encode()[:room].decode(errors="ignore") + ending if stem else ""


def sent_or_kept(request: HttpRequest, owner: int, *, largest_bytes: int) -> Upload:
    """Return the file that was sent, not kept yet and without a token, or one that was kept before and shown.

    Parameters
    ----------
    request : HttpRequest
        The form: ``file``, or ``kept`` with a token.
    owner : int
        Key of the trial it belongs to.
    largest_bytes : int
        More is refused unread [B].

    Raises
    ------
    InputError
        If there is none or it is too large.
    Http404
        If nothing is kept under this token.
    """
    token = request.POST.get("kept", "")
    if token and "file" not in request.FILES:
        return kept(token, owner)
    data, name = sent_file(request.FILES.get("file"), largest_bytes=largest_bytes)
    return Upload("", name, data)


def kept_once(upload: Upload, owner: int) -> Upload:
    """Keep a file that could be read; one that is kept already stays as it is."""
    return upload if upload.token else Upload(keep(upload.data, upload.name, owner), upload.name, upload.data)


def keep(data: bytes, name: str, owner: int) -> str:
    """Keep a file for a day and return its token; what is older goes, and of one trial what is beyond the newest few.

    Parameters
    ----------
    data, name : bytes, str
        The file.
    owner : int
        Key of the trial it belongs to; only there it is found again.
    """
    folder = _folder()
    folder.mkdir(parents=True, exist_ok=True)
    _clear(folder, owner)
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


def _clear(folder: Path, owner: int) -> None:
    """Let go of files of yesterday, and of so many of one trial that there is room for one more."""
    mine: list[tuple[float, Path]] = []
    for about in folder.glob("*.json"):
        try:
            written, whose = about.stat().st_mtime, json.loads(about.read_bytes())["owner"]
        except (OSError, ValueError, KeyError, TypeError):  # somebody else clears up at the same time
            continue
        if time.time() - written > KEPT_S:
            _let_go(about)
        elif whose == owner:
            mine.append((written, about))
    for _written, about in sorted(mine, reverse=True)[MOST_WAITING - 1 :]:
        _let_go(about)
    for old in folder.iterdir():  # of which the note was lost
        with contextlib.suppress(OSError):
            if time.time() - old.stat().st_mtime > KEPT_S:
                old.unlink()


def _let_go(about: Path) -> None:
    about.with_suffix("").unlink(missing_ok=True)
    about.unlink(missing_ok=True)


def _folder() -> Path:
    return Path(settings.DATA) / "uploads"
