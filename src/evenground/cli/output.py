"""Printing for all commands: JSON on standard output, notes and problems on standard error."""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from evenground.adapters.files import write_atomically
from evenground.basis.errors import EvengroundError, InputError, problem


def print_json(data: Mapping[str, Any]) -> None:
    """Write one JSON object, UTF-8, full digits, null and never NaN.

    Raises
    ------
    ValueError
        If a value is NaN or infinite; that is a defect of the caller.
    """
    sys.stdout.write(json.dumps(data, ensure_ascii=False, allow_nan=False, indent=2) + "\n")


def note(text: str) -> None:
    """Say something beside the result, on standard error."""
    sys.stderr.write(text.rstrip("\n") + "\n")


def write_sheet(path: Path, made: bytes, what: str) -> None:
    """Write a sheet to print where ``--sheet`` says; a folder that is not there is said, not made.

    Parameters
    ----------
    path : Path
        The file.
    made : bytes
        Its content.
    what : str
        What it is, for the note.

    Raises
    ------
    InputError
        If there is no such folder, or it cannot be written to.
    """
    allowed = "a file in a folder that is there"
    if not path.absolute().parent.is_dir():
        raise InputError(
            [problem("there is no such folder to write into.", field="--sheet", given=path, allowed=allowed)]
        )
    try:
        write_atomically(path, made)
    except OSError as error:
        text = f"the sheet cannot be written here: {error.strerror}."
        raise InputError([problem(text, field="--sheet", given=path, allowed=allowed)]) from error
    note(f"{what} written: {path}")


def fail(error: EvengroundError) -> None:
    """Say what went wrong on standard error, every problem on its own line."""
    if isinstance(error, InputError):
        count = len(error.problems)
        note(f"{count} problem{'s' if count != 1 else ''} found; nothing was changed.")
        for one in error.problems:
            note(f"- {one}")
    else:
        note(str(error))
