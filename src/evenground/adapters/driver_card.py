"""The driver's card: works by pictures and row counts when no terminal reads the lines."""

from __future__ import annotations

from typing import Any

from evenground.adapters.field_drawing import strip_row
from evenground.adapters.field_plan import INVENTED, methods_data
from evenground.adapters.pdf import sheet_pdf
from evenground.basis.days import said_day
from evenground.basis.field import Field, geodesic_area_m2
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.layout.guidance import headland
from evenground.layout.harvest_order import HARVEST_CAUTIONS, HarvestOrder, HarvestStep, harvest_order
from evenground.layout.marks import MARK_CAUTIONS, Mark, marks
from evenground.layout.row_counts import RowCount, fixed_edge, row_counts
from evenground.layout.turned_field import TurnedField, turned_field
from evenground.layout.work_order import WorkOrder, WorkPass, work_orders

ROW_MM = (180.0, 24.0)
ROAD = "Folded machine on the road, power shaft and hydraulics: stop and switch off first. Local rules go first."


def driver_card(plan: Plan, field: Field, draw: Draw) -> bytes:
    """Return the card as PDF: one page a planter, one for the harvester, one to list and tick off markers.

    It says nothing of prices, results or other fields.

    Parameters
    ----------
    plan : Plan
        Methods, machines, entrance, hazards, phone numbers.
    field : Field
        Outline.
    draw : Draw
        The strips.
    """
    turned = turned_field(field, draw)
    counts = {one.strip: one for one in row_counts(plan, turned)}
    edge = fixed_edge(plan, turned)
    methods = {data["letter"]: data for data in methods_data(plan)}
    pages = [
        _planter_page(plan, turned, order, counts, methods, number)
        for number, order in enumerate(work_orders(plan, turned), start=1)
    ]
    content = {
        "title": f"Driver's card: {plan.trial.name}",
        "subtitle": f"Draw {draw.number} of {said_day(draw.drawn_at)}, plan {draw.plan_hash[:12]}",
        "banner": INVENTED if plan.trial.invented else "",
        "origin": f"Rows are counted from {edge.words}"
        + ("" if edge.counted_from_edge else ", beginning with the outermost row of the first strip")
        + edge.elsewhere
        + f". To the first strip it is {edge.start_m:.1f} m from that edge at the start, "
        f"{edge.far_m:.1f} m at the far end.",
        "heading": f"Stand at the start and look along the strips: heading {draw.heading_deg:.1f}° from north.",
        "facts": _facts(plan, field, draw),
        "pages": pages,
        "harvest": _harvest_page(plan, turned, harvest_order(plan, turned)),
        "marks": [_mark_row(mark) for mark in marks(plan, turned)],
        "cautions": list(MARK_CAUTIONS),
        "road": ROAD,
    }
    return sheet_pdf("driver_card.typ", content)


def _facts(plan: Plan, field: Field, draw: Draw) -> list[list[str]]:
    """Return way in, hazards, phone numbers and hectares; what nobody gave is said."""
    gate = plan.layout.entrance
    place = "not said; ask before you come" if gate is None else f"{gate.text} ({gate.lat:.6f}, {gate.lon:.6f})".strip()
    hazards = "; ".join(plan.layout.hazards) or "none named; look for cables, masts and wet places"
    phones = "; ".join(plan.people.phones) or "none given"
    whole, headlands = (geodesic_area_m2(s) / 1e4 for s in (field.boundary, headland(field, plan.layout.headland_m)))
    strips = sum(strip.area_m2 for strip in draw.strips) / 1e4
    area = f"field {whole:.2f} ha, strips {strips:.2f} ha, headland {headlands:.2f} ha, the rest beside the strips"
    return [["Way in", place], ["Hazards", hazards], ["Phone", phones], ["Hectares", area]]


def _planter_page(
    plan: Plan,
    turned: TurnedField,
    order: WorkOrder,
    counts: dict[int, RowCount],
    methods: dict[str, Any],
    number: int,
) -> dict[str, Any]:
    shown = "".join(order.methods)
    rates = [
        f"{m.letter}: {m.seeds_per_m2:g} seeds/m2, {m.depth_cm:g} cm deep, {m.speed_km_per_h:g} km/h, "
        f"starter {m.starter_kg_per_ha:g} kg/ha"
        for m in plan.methods
        if m.letter in order.methods
    ]
    return {
        "machine": order.machine,
        "methods": [methods[letter] for letter in order.methods],
        "rates": rates,
        "area": f"{order.area_ha:.2f} ha in strips, about {order.hours:.1f} h",
        "svg": strip_row(plan, turned.boxes, size_mm=ROW_MM, shown=shown, name=f"card-{number}"),
        "alt": f"Strips from left to right; those of {order.machine} are drawn strongly.",
        "rows": [_pass_row(plan, one, counts[one.line.strip]) for one in order.passes],
        "notes": list(order.notes),
    }


def pass_rows(plan: Plan, one: WorkPass, count: RowCount) -> tuple[int, int]:
    """Return first and last row of one pass, counted from the fixed edge.

    Parameters
    ----------
    plan : Plan
        Side of the fixed edge, rows of the method.
    one : WorkPass
        The pass.
    count : RowCount
        Rows of its strip.
    """
    method = next(m for m in plan.methods if m.letter == one.line.method)
    rows = round(one.line.width_m / method.row_pattern.row_spacing_m)
    if plan.layout.fixed_edge_side == "left":
        first = count.rows[0] + (one.line.pass_in_strip - 1) * rows
    else:
        first = count.rows[1] - one.line.pass_in_strip * rows + 1
    return first, first + rows - 1


def _pass_row(plan: Plan, one: WorkPass, count: RowCount) -> list[str]:
    first, last = pass_rows(plan, one, count)
    inside = (one.line.pass_in_strip - 1) * one.line.width_m
    if plan.layout.fixed_edge_side == "right":
        inside = (count.passes[1] - count.passes[0] + 1 - one.line.pass_in_strip) * one.line.width_m
    return [
        str(one.number),
        "↑" if one.with_heading else "↓",
        f"{one.line.strip} {one.line.method}",
        f"{first}–{last}",
        f"{count.start_m + inside:.1f}",
        f"{count.far_m + inside:.1f}",
        f"{one.line.length_m:.0f}",
    ]


def _harvest_page(plan: Plan, turned: TurnedField, order: HarvestOrder) -> dict[str, Any]:
    return {
        "machine": order.machine or "harvester",
        "svg": strip_row(plan, turned.boxes, size_mm=ROW_MM, shown="".join(plan.letters), name="card-harvest"),
        "alt": "All strips from left to right.",
        "rows": [_step_row(step) for step in order.steps],
        "trailer": f"Trailer: {next(step.trailer for step in order.steps if step.weighed)}.",
        "notes": [*order.notes, *HARVEST_CAUTIONS],
    }


def _step_row(step: HarvestStep) -> list[str]:
    way = "" if step.with_heading is None else "↑" if step.with_heading else "↓"
    where = (
        "all round" if step.strip is None else f"{step.strip} {step.method}" if step.weighed else f"before {step.strip}"
    )
    tonnes = "" if step.fresh_t is None else f"{step.fresh_t:.1f}"
    return [
        str(step.number),
        way,
        step.work,
        where,
        "" if step.block is None else str(step.block),
        "weigh" if step.weighed else "do not weigh",
        tonnes,
        "may stop" if step.break_allowed else "",
    ]


def _mark_row(mark: Mark) -> list[str]:
    return [
        f"M{mark.number}",
        "start" if mark.end == "start" else "far end",
        "/".join(str(n) for n in mark.strips),
        f"{mark.side_m:.2f}",
        f"{mark.end_m:.2f}",
    ]
