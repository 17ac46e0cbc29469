"""Files written so that a broken cable never leaves half a file, and one writer at a time."""

from __future__ import annotations

import contextlib
import hashlib
import os
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from evenground.basis.errors import EvengroundError

WAIT_FOR_LOCK_S = 10.0


def write_atomically(path: Path, data: bytes) -> None:
    """Replace a file as a whole: either the old content or the new one is there, never a part.

    Parameters
    ----------
    path : Path
        The file; a symbolic link is followed, and permissions are kept.
    data : bytes
        Its new content.
    """
    path = path.resolve()
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        Path(name).chmod(path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~_umask())
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


@contextlib.contextmanager
def writer_lock(folder: Path, wait_s: float = WAIT_FOR_LOCK_S) -> Iterator[None]:
    """Hold the right to write into a folder; nothing is left behind in it.

    The lock lives in the machine's folder for temporary files, named after the trial folder, and the system frees it
    when a program ends. It keeps programs on one machine apart, not two machines on a shared drive.

    Parameters
    ----------
    folder : Path
        The trial folder.
    wait_s : float
        How long to wait for another writer [s].

    Raises
    ------
    EvengroundError
        If another program is still writing after that time.
    """
    key = hashlib.sha256(str(folder.resolve()).encode()).hexdigest()[:24]
    path = Path(tempfile.gettempdir()) / f"evenground-{key}.lock"
    handle = os.open(path, os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0), 0o666)
    try:
        end = time.monotonic() + wait_s
        while not _try_lock(handle):
            if time.monotonic() > end:
                raise EvengroundError(f"another program is writing into {folder.name}; try again when it is done.")
            time.sleep(0.02)
        yield
    finally:
        os.close(handle)


if sys.platform == "win32":
    import msvcrt

    def _try_lock(handle: int) -> bool:
        """Try to take the lock."""
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True
else:
    import fcntl

    def _try_lock(handle: int) -> bool:
        """Try to take the lock."""
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True
