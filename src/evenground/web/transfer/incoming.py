"""Archives on their way in: sent piece by piece, kept in the data folder until they are stored, never in memory."""

from __future__ import annotations

import contextlib
import re
import secrets
import shutil
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.utils.translation import gettext as _

from evenground.basis.errors import InputError, problem

KEPT_S = 24 * 3600.0
ROOM_KEPT_BYTES = 1_000_000_000
"""So much of the disk stays free, for the records of the day."""
TIMES_ITS_SIZE = 2.5
"""Room an archive takes while it comes in: itself, its content in the database, and the database's journal."""
_TOKEN = re.compile(r"[0-9]{1,18}-[0-9a-f]{32}")


@dataclass(frozen=True)
class Coming:
    """An archive that is on its way, or all there.

    Attributes
    ----------
    token : str
        Its name here; begins with whose it is.
    path : Path
        What came so far.
    """

    token: str
    path: Path

    @property
    def size(self) -> int:
        """How much came so far [B]."""
        return self.path.stat().st_size

    def add(self, data: bytes, at: int) -> int:
        """Add the next piece and return how much is there now [B]; a piece that was sent before changes nothing.

        Parameters
        ----------
        data : bytes
            The piece.
        at : int
            Where it begins [B].
        """
        if at == self.size:
            with self.path.open("ab") as out:
                out.write(data)
        return self.size

    def let_go(self) -> None:
        """Throw away what came."""
        self.path.unlink(missing_ok=True)


def begin(owner: int, size: int, largest_bytes: int) -> Coming:
    """Make room for an archive; what the same person sent before and never used goes.

    Parameters
    ----------
    owner : int
        Key of the person; nobody else finds it.
    size : int
        How large it will be [B].
    largest_bytes : int
        How large it may be [B].

    Raises
    ------
    InputError
        If it is too large, or there is no room for it.
    """
    check_size(size, largest_bytes)
    folder = _folder()
    folder.mkdir(parents=True, exist_ok=True)
    for old in folder.iterdir():
        with contextlib.suppress(OSError):  # somebody else clears up at the same time
            if old.name.startswith(f"{owner}-") or time.time() - old.stat().st_mtime > KEPT_S:
                old.unlink()
    token = f"{owner}-{secrets.token_hex(16)}"
    (folder / token).touch(mode=0o600)
    return Coming(token, folder / token)


def check_size(size: int, largest_bytes: int) -> None:
    """Make sure that an archive may be so large, and that there is room for it.

    Raises
    ------
    InputError
        If not.
    """
    if size > largest_bytes:
        given, allowed = _mb(size), _mb(largest_bytes)
        raise InputError([problem(_("This file is too large."), field="file", given=given, allowed=allowed)])
    room = room_bytes()
    if size * TIMES_ITS_SIZE > room:
        text = _("There is not enough room on the disk of this machine.")
        allowed = _("at most %s now") % _mb(int(room / TIMES_ITS_SIZE))
        raise InputError([problem(text, field="file", given=_mb(size), allowed=allowed)])


def room_bytes() -> int:
    """Return how much may still be put on the disk [B]."""
    there = next(p for p in (Path(settings.DATA), *Path(settings.DATA).parents) if p.exists())
    return max(0, shutil.disk_usage(there).free - ROOM_KEPT_BYTES)


def _mb(size: int) -> str:
    return f"{size / 1e6:.0f} MB" if size < 10_000_000_000 else f"{size / 1e9:.0f} GB"


def find(token: str, owner: int) -> Coming | None:
    """Return what this person is sending under a token, if there is such a thing."""
    path = _folder() / token
    mine = _TOKEN.fullmatch(token) and token.startswith(f"{owner}-") and path.is_file()
    return Coming(token, path) if mine else None


def keep(chunks: Iterable[bytes], owner: int, size: int, largest_bytes: int) -> Coming:
    """Keep an archive that came in one piece.

    Raises
    ------
    InputError
        If it is too large, or there is no room for it.
    """
    coming = begin(owner, size, largest_bytes)
    with coming.path.open("ab") as out:
        for chunk in chunks:
            out.write(chunk)
    return coming


# A farm that comes back has no people until all of it is there. Should the program end before that, the note says
# which farm nobody is waiting for any more.


def note_of(farm: int) -> Path:
    """Return the file that says that a farm is being put back."""
    folder = _folder()
    folder.mkdir(parents=True, exist_ok=True)
    return folder / f"farm-{farm}"


def notes() -> Iterator[tuple[Path, int]]:
    """Give every note that is there, with the key of its farm."""
    for path in _folder().glob("farm-*") if _folder().is_dir() else ():
        number = path.name.removeprefix("farm-")
        if number.isascii() and number.isdigit():
            yield path, int(number)


def _folder() -> Path:
    return Path(settings.DATA) / "incoming"
