"""Reading a file of bounded size."""

from __future__ import annotations

from pathlib import Path

from evenground.basis.errors import InputError, problem

LARGEST_FILE_BYTES = 50_000_000


def read_bytes(path: Path, file: str, largest: int = LARGEST_FILE_BYTES) -> bytes:
    """Read a regular file of bounded size.

    Raises
    ------
    InputError
        If it is not there, is no regular file, or is too large.
    """
    try:
        if not path.is_file():
            raise InputError([problem("there is no such file.", file=file)])
        size = path.stat().st_size
        if size > largest:
            allowed = f"at most {largest / 1e6:g} MB"
            raise InputError(
                [problem("this file is too large.", file=file, given=f"{size / 1e6:.1f} MB", allowed=allowed)]
            )
        return path.read_bytes()
    except OSError as error:
        raise InputError([problem(f"this file cannot be read ({error.strerror}).", file=file)]) from error
