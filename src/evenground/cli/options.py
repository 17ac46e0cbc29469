"""Options that several commands share."""

from __future__ import annotations

from evenground.adapters.number_style import STYLES, NumberStyle
from evenground.basis.errors import InputError, problem


def style_option(name: str | None) -> NumberStyle | None:
    """Return the number style asked for with --number-style; None if none was.

    Raises
    ------
    InputError
        If there is no such style.
    """
    if name is not None and name not in STYLES:
        allowed = "one of " + "  ".join(STYLES)
        raise InputError([problem("there is no such style.", field="--number-style", given=name, allowed=allowed)])
    return STYLES[name] if name is not None else None
