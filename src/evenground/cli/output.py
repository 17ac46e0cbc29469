"""Printing for all commands: JSON on standard output, notes and problems on standard error."""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from typing import Any

from evenground.basis.errors import EvengroundError, InputError


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


def fail(error: EvengroundError) -> None:
    """Say what went wrong on standard error, every problem on its own line."""
    if isinstance(error, InputError):
        count = len(error.problems)
        note(f"{count} problem{'s' if count != 1 else ''} found; nothing was changed.")
        for one in error.problems:
            note(f"- {one}")
    else:
        note(str(error))
