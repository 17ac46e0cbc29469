"""An invented trial of two factors: row pattern on strips side by side, seed rate changed from the cab between them."""

from datetime import datetime
from functools import cache

from evenground.basis.plan import Plan
from evenground.layout.laid_out import LaidOut, lay_out, make_draw
from tests import small_trial as small
from tests.layout import fields

TWIN = {"kind": "twin", "row_spacing_m": 0.75, "twin_gap_m": 0.2, "staggered": True}
PLANTERS = (
    {"id": "four", "kind": "planter", "rows": 8, "row_spacing_m": 0.75},
    {"id": "pairs", "kind": "planter", "rows": 8, "row_spacing_m": 0.75},
)
FACTORS = {"whole": "pattern", "within": "seed_rate"}


def content(rates=(8.0, 9.5), *, factors=None, **layout):
    """The content of an invented plan: A and B single rows at two rates, C and D twin rows at the same."""
    letters = iter("ABCDEF")
    patterns = (("four", {"row_spacing_m": 0.75}), ("pairs", TWIN))
    methods = [
        small.method(next(letters), machine=machine, row_pattern=pattern, seeds_per_m2=rate)
        for machine, pattern in patterns
        for rate in rates
    ]
    return {
        "trial": {"name": "Two factors", "season": 2025, "invented": True},
        "methods": methods,
        "machines": [*PLANTERS, fields.HARVESTER],
        "layout": {"harvester": "cutter", "samples_per_strip": 1, **layout},
        "factors": FACTORS if factors is None else factors,
    }


def plan(rates=(8.0, 9.5), **layout):
    return Plan.model_validate(content(rates, **layout))


@cache
def laid_out(rates=(8.0, 9.5), blocks=6) -> LaidOut:
    return lay_out(plan(rates, blocks=blocks), fields.field(fields.rectangle(260, 330)))


def draw(rates=(8.0, 9.5), blocks=6, seed=3, **layout):
    return make_draw(
        plan(rates, blocks=blocks, **layout),
        laid_out(rates, blocks),
        seed=seed,
        drawn_at=datetime(2025, 3, 1, 12),
        plan_hash="0" * 64,
        version="test",
    )
