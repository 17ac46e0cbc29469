"""An invented field in two pieces, 120 m apart, with a drawn layout that uses both."""

from datetime import datetime
from functools import cache

from shapely.geometry import box
from tests.layout import fields

from evenground.layout.laid_out import lay_out, make_draw

# Each piece has room for four strips of 9 m between headlands of 18 m; blocks of two: two blocks in each.
PIECES = (box(0, 0, 72.2, 300), box(192, 0, 264.2, 300))


@cache
def _laid_out():
    plan = fields.plan(blocks=4, planters=({**fields.PLANTER, "rows": 12},))
    field = fields.field(*PIECES)
    return field, lay_out(plan, field)


def drawn(**layout):
    """Return plan, draw and field."""
    field, laid_out = _laid_out()
    plan = fields.plan(blocks=4, planters=({**fields.PLANTER, "rows": 12},), **layout)
    draw = make_draw(plan, laid_out, seed=4, drawn_at=datetime(2026, 3, 1, 12), plan_hash="0" * 64, version="test")
    return plan, draw, field
