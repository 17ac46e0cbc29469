"""A trial folder that does not say where it lies: no coordinates, no outline, no pictures, no comments of the plan."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Sequence

from evenground.adapters.plan_file import PLAN_FILE, plan_text
from evenground.adapters.record_writing import canonical_columns, rows_text
from evenground.adapters.strips_file import STRIPS_FILE, strips_text
from evenground.basis.canonical import plan_hash
from evenground.basis.observations import RECORD_KINDS, Observation
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw, Strip
from evenground.web.trials.models import Trial
from evenground.web.trials.store import DatabaseStore

PLACE_OF_A_RECORD = ("lon", "lat", "outline")
# WGS84, at the equator: half axis 6,378,137 m, flattening 1/298.257223563.
_LON_M = math.pi / 180 * 6_378_137.0
_LAT_M = _LON_M * (1 - 1 / 298.257223563) ** 2
_DIGITS = 9


def placeless_files(trial: Trial) -> Iterator[tuple[str, bytes]]:
    """Give the files of a trial folder without places.

    Strips keep number, order, widths, lengths and areas, but lie as a row of rectangles in the sea off Africa, at
    longitude and latitude 0. The field's outline, photographs and other files are left out; so are comments in the
    plan, the farm's name, the entrance, and patches of damage of which only the outline is known. What people wrote as
    notes stays as it is.

    Parameters
    ----------
    trial : Trial
        The trial.

    Yields
    ------
    tuple
        Path in the folder, and content.
    """
    store = DatabaseStore(trial)
    plan, records = store.plan(), store.records()
    bare = _without_place(plan)
    yield PLAN_FILE, plan_text(bare).encode()
    draws = [_moved(d, plan, bare) for d in store.draws()]
    if draws:
        yield STRIPS_FILE, strips_text(draws).encode()
    for kind in RECORD_KINDS:
        if mine := without_coordinates(getattr(records, kind)):
            yield f"records/{kind}.csv", rows_text(mine, canonical_columns(kind)).encode()


def _without_place(plan: Plan) -> Plan:
    return Plan.model_validate(_cut(plan.model_dump(mode="json")))


def _cut(said: dict[str, dict[str, object]]) -> dict[str, dict[str, object]]:
    """Take the farm's name and the entrance out of what a plan says."""
    for section, key in (("trial", "farm"), ("layout", "entrance")):
        if section in said:
            said[section].pop(key, None)
    return said


def without_coordinates(records: Sequence[Observation]) -> list[Observation]:
    """Return records without coordinates; those that are nothing without are left out."""
    gone = {r.id for r in records if getattr(r, "outline", "") and not getattr(r, "strips", ())}
    out = []
    for record in records:
        fields = type(record).model_fields
        bare: dict[str, object] = {n: fields[n].get_default() for n in PLACE_OF_A_RECORD if n in fields}
        if record.replaces in gone:
            bare["replaces"] = None
        if record.id not in gone:
            out.append(record.model_copy(update=bare))
    return out


def _moved(draw: Draw, plan: Plan, bare: Plan) -> Draw:
    """Return a draw with its strips side by side in the sea; it stays tied to the plan it was drawn for."""
    left, strips = 0.0, []
    for strip in sorted(draw.strips, key=lambda s: s.strip):
        strips.append(_rectangle(strip, left))
        left += strip.width_m
    order = {s.strip: i for i, s in enumerate(draw.strips)}
    said = json.loads(draw.plan_text) if draw.plan_text else {}
    kept = json.dumps(_cut(said), ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return draw.model_copy(
        update={
            "strips": tuple(sorted(strips, key=lambda s: order[s.strip])),
            "plan_hash": plan_hash(bare) if draw.plan_hash == plan_hash(plan) else draw.plan_hash,
            "plan_text": kept if draw.plan_text else "",
        }
    )


def _rectangle(strip: Strip, left_m: float) -> Strip:
    middle_m = left_m + strip.width_m / 2
    return strip.model_copy(
        update={
            "outline": _ring(middle_m, strip.width_m, strip.length_m),
            "cut_outline": _ring(middle_m, strip.cut_width_m, strip.cut_length_m),
        }
    )


def _ring(middle_m: float, width_m: float, length_m: float) -> tuple[tuple[float, float], ...]:
    west, east = middle_m - width_m / 2, middle_m + width_m / 2
    corners = ((west, -length_m / 2), (east, -length_m / 2), (east, length_m / 2), (west, length_m / 2))
    ring = tuple((round(x / _LON_M, _DIGITS), round(y / _LAT_M, _DIGITS)) for x, y in corners)
    return (*ring, ring[0])
