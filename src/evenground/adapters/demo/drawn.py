"""The demo's draw, and the seed of its invented season: the same on the command line and in the app."""

from __future__ import annotations

from datetime import UTC, datetime

from evenground.basis.errors import InputError, problem
from evenground.basis.store import Stored
from evenground.basis.strip import Draw
from evenground.layout.laid_out import LaidOut, lay_out, make_draw

SEASON_SEED = 5
DRAWN_AT = datetime(2026, 3, 11, 19, 30, tzinfo=UTC)
"""When the demo was drawn, invented like the rest: before the invented sowing in April."""


def draw_demo(stored: Stored, *, version: str) -> tuple[Draw, LaidOut]:
    """Lay the demo's strips out and draw them with the seed in its plan.

    Parameters
    ----------
    stored : Stored
        The demo's plan and field.
    version : str
        Program version; only written down.

    Raises
    ------
    InputError
        If the field is missing.
    """
    if stored.field is None:
        raise InputError([problem("the demo's field is missing.", file="field.geojson")])
    laid_out = lay_out(stored.plan, stored.field)
    seed = stored.plan.layout.seed or 0
    draw = make_draw(stored.plan, laid_out, seed=seed, drawn_at=DRAWN_AT, plan_hash=stored.plan_hash, version=version)
    return draw, laid_out
