"""Spacing runs and depths of the demo, from a source of randomness of their own: they never move the weights."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np

from evenground.basis.method import Method
from evenground.basis.observations import Depth, Observation, SpacingRun
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw, Strip

SEED = 11
MEASURED_BLOCKS = 3
READINGS_CM = 520.0
SPREAD, MISSES, DOUBLES = 0.17, 0.04, 0.015
DEPTHS = 6


def measured_lines(plan: Plan, draw: Draw, when: datetime, who: str) -> list[Observation]:
    """Return one spacing run a line and some depths in the strips of the first blocks.

    Parameters
    ----------
    plan, draw : Plan, Draw
        The demo's plan and strips.
    when : datetime
        Time of the first reading.
    who : str
        Who is named in the records.
    """
    rng = np.random.default_rng(SEED)
    methods = {m.letter: m for m in plan.methods}
    out: list[Observation] = []
    for strip in (s for s in draw.strips if s.block <= MEASURED_BLOCKS):
        method = methods[strip.method]
        time = when + timedelta(minutes=12 * strip.strip)
        lines = method.row_pattern.lines_per_row
        out += [_run(strip, method, line, time, who, rng) for line in range(1, lines + 1)]
        out += [
            Depth(
                id=f"demo-depth-{strip.strip:02d}-{i}",
                time=time,
                who=who,
                strips=(strip.strip,),
                row_unit=1 + i % 6,
                depth_cm=round(float(rng.normal(method.depth_cm, 0.45)), 1),
            )
            for i in range(DEPTHS)
        ]
    return out


def _run(strip: Strip, method: Method, line: int, time: datetime, who: str, rng: np.random.Generator) -> SpacingRun:
    """Return where the plants of one line stand along a tape; the second line of a twin row is half a gap on."""
    lines = method.row_pattern.lines_per_row
    gap = 100.0 * lines / (method.seeds_per_m2 * method.row_pattern.row_spacing_m)
    start = gap * (0.5 if line == 2 else 0.0)
    places = (
        start + gap * np.arange(1, int(READINGS_CM / gap)) + rng.normal(0.0, SPREAD * gap, int(READINGS_CM / gap) - 1)
    )
    places = places[rng.random(len(places)) > MISSES]
    doubled = places[rng.random(len(places)) < DOUBLES] + 0.2 * gap
    readings = np.unique(np.round(np.sort(np.concatenate([places, doubled])), 1))
    return SpacingRun(
        id=f"demo-run-{strip.strip:02d}-{line}",
        time=time,
        who=who,
        strips=(strip.strip,),
        row_unit=3,
        run=f"strip {strip.strip}",
        line=line,
        readings=tuple(float(x) for x in readings),
    )
