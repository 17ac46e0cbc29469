"""Lines to drive: one line a pass in every strip and weighed cut, and the rounds on the headland."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil
from typing import Literal

import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon

from evenground.basis.errors import InputError, problem
from evenground.basis.field import Field
from evenground.basis.method import Machine
from evenground.basis.plan import Plan
from evenground.layout.cross_section import bite_mm, grid_mm, not_whole_passes
from evenground.layout.turned_field import LonLat, StripBox, TurnedField
from evenground.layout.workable import workable_area


@dataclass(frozen=True)
class GuidanceLine:
    """One straight pass, from A at the start to B at the far end, always along the heading.

    Attributes
    ----------
    kind : {"sowing", "weighed_cut"}
        What is done along it.
    machine : str
        ``id`` of the machine; empty where no harvester is named.
    strip, block : int
        Numbers.
    method : str
        Letter drawn for the strip.
    pass_in_strip : int
        Pass within the strip, from 1 at its left edge.
    width_m, length_m : float
        Working width and length [m].
    across_m : float
        Its place in the turned field [m across].
    a, b : tuple of float
        Longitude and latitude of both ends [deg].
    """

    kind: Literal["sowing", "weighed_cut"]
    machine: str
    strip: int
    block: int
    method: str
    pass_in_strip: int
    width_m: float
    length_m: float
    across_m: float
    a: LonLat
    b: LonLat

    @property
    def name(self) -> str:
        """Short name, such as ``3B pass 2``."""
        return f"{self.strip}{self.method} {'pass' if self.kind == 'sowing' else 'cut'} {self.pass_in_strip}"


def sowing_lines(plan: Plan, turned: TurnedField) -> tuple[GuidanceLine, ...]:
    """Return one line for every pass of the planter that sows a strip, in the middle of the pass.

    Parameters
    ----------
    plan : Plan
        Methods and machines.
    turned : TurnedField
        The strips.

    Raises
    ------
    InputError
        Where a planter as it stands in the plan now would not keep to the strips as drawn.

    Source: a slot is whole passes of every planter (`evenground.layout.slot`); pass k lies (k - 1/2) widths in.
    """
    if misfits := not_whole_passes(plan, [box.strip for box in turned.boxes]):
        raise InputError(problem(text, file="trial.toml", field="machines") for text in misfits)
    planters = {method.letter: plan.machine(method.machine) for method in plan.methods}
    return tuple(
        line
        for box in turned.boxes
        for planter in (planters[box.strip.method],)
        for line in _lines(turned, box, planter, (box.left_m, box.right_m), planter.working_width_m)
    )


def cut_lines(plan: Plan, turned: TurnedField) -> tuple[GuidanceLine, ...]:
    """Return one line for every pass of the harvester inside a weighed cut; one in its middle if none is named.

    Parameters
    ----------
    plan : Plan
        Harvester.
    turned : TurnedField
        The strips.

    Source: a weighed cut is whole passes of the harvester (`evenground.layout.slot`).
    """
    harvester = plan.machine(plan.layout.harvester) if plan.layout.harvester is not None else None
    bite_m = None if harvester is None else bite_mm(harvester, grid_mm(plan)) / 1e3
    return tuple(
        line
        for box in turned.boxes
        for line in _lines(turned, box, harvester, (box.cut_left_m, box.cut_right_m), bite_m)
    )


def _lines(
    turned: TurnedField, box: StripBox, machine: Machine | None, span: tuple[float, float], pass_m: float | None
) -> Iterator[GuidanceLine]:
    left, right = span
    sowing = machine is not None and machine.kind == "planter"
    low, high = (box.low_m, box.high_m) if sowing else (box.cut_low_m, box.cut_high_m)
    width = right - left if pass_m is None else pass_m
    passes = max(1, round((right - left) / width))
    for k in range(passes):
        across = (left + right) / 2 + (k + 0.5 - passes / 2) * width
        yield GuidanceLine(
            kind="sowing" if sowing else "weighed_cut",
            machine="" if machine is None else machine.id,
            strip=box.strip.strip,
            block=box.strip.block,
            method=box.strip.method,
            pass_in_strip=k + 1,
            width_m=width,
            length_m=high - low,
            across_m=across,
            a=turned.lon_lat(across, low),
            b=turned.lon_lat(across, high),
        )


def headland(field: Field, headland_m: float) -> MultiPolygon:
    """Return the ground between the boundary and the workable area, obstacles aside, WGS84 [deg].

    Parameters
    ----------
    field : Field
        Outline.
    headland_m : float
        Width of the headland [m]; 0 gives an empty shape.

    Raises
    ------
    DoesNotFitError
        If nothing is left of the field inside it.

    Source: difference of the boundary and `workable_area`.
    """
    if headland_m == 0.0:
        return MultiPolygon()
    whole = shapely.make_valid(field.plane.to_metres(field.boundary))
    ring = whole.difference(workable_area(Field(field.boundary, MultiPolygon()), headland_m))
    parts = [p for p in shapely.get_parts(ring) if isinstance(p, Polygon)]
    shape = field.plane.to_degrees(MultiPolygon(parts))
    return shape if isinstance(shape, MultiPolygon) else MultiPolygon()


@dataclass(frozen=True)
class HeadlandPass:
    """One round of a machine along the boundary.

    Attributes
    ----------
    machine : str
        ``id`` of the planter of the baseline.
    number : int
        Round, from 1 at the boundary.
    width_m : float
        Working width [m].
    line : LineString
        Middle of the pass, closed, WGS84 [deg].
    """

    machine: str
    number: int
    width_m: float
    line: LineString


def headland_passes(plan: Plan, field: Field) -> tuple[HeadlandPass, ...]:
    """Return the rounds of the baseline's planter that fill the headland, outermost first.

    Parameters
    ----------
    plan : Plan
        Width of the headland, and the baseline's planter.
    field : Field
        Outline.

    Returns
    -------
    tuple of HeadlandPass
        Every round of every part and hole; the innermost may reach into the strips' ends, where it is switched off.

    Source: offset curves with mitred corners; headlands sown with what the farm does now, common practice, no source.
    """
    machine = plan.machine(plan.baseline.machine)
    width = machine.working_width_m
    whole = shapely.make_valid(field.plane.to_metres(field.boundary))
    found = []
    for k in range(ceil(plan.layout.headland_m / width - 1e-9)):
        inner = whole.buffer(-(k + 0.5) * width, join_style="mitre", mitre_limit=2.0)
        for part in shapely.get_parts(inner):
            for ring in (part.exterior, *part.interiors) if isinstance(part, Polygon) and not part.is_empty else ():
                line = field.plane.to_degrees(LineString(ring.coords))
                found.append(HeadlandPass(machine.id, k + 1, width, LineString(line.coords)))
    return tuple(found)
