"""How large a pixel of a photograph may be on the ground."""

from __future__ import annotations

from evenground.basis.errors import Problem, problem

FINEST_M, COARSEST_M = 0.00005, 0.006
"""Sides of a pixel that are read; the coarsest is the last line but one of the table in docs/photo.md."""


def scale_problems(pixel_m: float, file: str, field: str) -> list[Problem]:
    """Return what is wrong with the side of a pixel.

    Parameters
    ----------
    pixel_m : float
        Side on the ground [m].
    file, field : str
        Where it comes from, for messages.
    """
    if FINEST_M <= pixel_m <= COARSEST_M:
        return []
    text = "a pixel of this picture is too " + ("large for leaves to be seen." if pixel_m > COARSEST_M else "small.")
    allowed = f"{1000 * FINEST_M:g} to {1000 * COARSEST_M:g} mm a pixel"
    return [problem(text, file=file, field=field, given=f"{1000 * pixel_m:.3g} mm a pixel", allowed=allowed)]
