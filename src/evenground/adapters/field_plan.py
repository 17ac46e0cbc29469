"""The field plan on one A4 page, to scale, and the page that fixes the trial before harvest."""

from __future__ import annotations

from typing import Any

from evenground.adapters.field_drawing import draw_to_scale
from evenground.adapters.paper import qr_svg, swatch_svg
from evenground.adapters.pdf import pdf, sheet_pdf
from evenground.basis.days import said_day, said_moment
from evenground.basis.field import Field, geodesic_area_m2
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.layout.marks import MARK_CAUTIONS
from evenground.layout.row_counts import RowCount, fixed_edge, row_counts
from evenground.layout.turned_field import turned_field
from evenground.report.document import Column, Document, Fact, Facts, Note, Paragraph, Table
from evenground.report.draw_record import draws_table, limits_of_two, limits_tables
from evenground.report.wording import number, percent, sentence

ROOM_MM = (178.0, 178.0)
# Height of drawing and table together; more strips than this stand in four narrow columns.
TABLE_AND_MAP_MM, MOST_IN_TWO = 222.0, 44
INVENTED = "Invented trial: farm, place and season are made up."


def qr_text(plan: Plan, draw: Draw) -> str:
    """Return what the QR code says: which trial, which plan, which draw; no address.

    Parameters
    ----------
    plan : Plan
        The trial.
    draw : Draw
        The draw that counts.
    """
    return f"evenground trial\n{plan.trial.name}\nseason {plan.trial.season}\nplan {draw.plan_hash}\ndraw {draw.number}"


def field_plan(plan: Plan, field: Field, draw: Draw) -> bytes:
    """Return the field plan: one A4 page to scale.

    Parameters
    ----------
    plan : Plan
        The trial.
    field : Field
        Outline and obstacles.
    draw : Draw
        The strips.
    """
    turned = turned_field(field, draw)
    many = len(draw.strips) > MOST_IN_TWO
    lines = -(-len(draw.strips) // (4 if many else 2))
    tall = min(ROOM_MM[1], TABLE_AND_MAP_MM - lines * (2.9 if many else 3.8))
    sheet = draw_to_scale(plan, field, turned, room_mm=(ROOM_MM[0], tall))
    edge = fixed_edge(plan, turned)
    up = "to the right" if sheet.sideways else "up the page"
    content = {
        "title": plan.trial.name,
        "subtitle": f"Field plan, season {plan.trial.season}. Draw {draw.number} of {said_day(draw.drawn_at)}.",
        "banner": INVENTED if plan.trial.invented else "",
        "svg": sheet.svg,
        "alt": "Plan of the field to scale, with strips, north, scale bar and distances from the field edge.",
        "width_mm": sheet.width_mm,
        "scale": f"1 : {number(sheet.denominator)} when printed at full size (100 %). Strips run {up}, heading "
        f"{draw.heading_deg:.1f}° from north. Dashed: the weighed cut."
        + (" Dotted or cross: not sown." if _holes(field) else ""),
        "methods": methods_data(plan),
        "groups": 4 if many else 2,
        "columns": _columns(edge.counted_from_edge, many=many),
        "rows": [_row(one, draw, many=many) for one in row_counts(plan, turned)],
        "table_note": (
            f"Rows are counted from {edge.words}"
            + ("" if edge.counted_from_edge else ", first row of the outermost strip")
            + edge.elsewhere
            + ". Start and far end: distance in metres from that field edge to the strip, square to the strips."
        ),
        "facts": _facts(plan, field, draw),
        "cautions": list(MARK_CAUTIONS[:2]),
        "qr": qr_svg(qr_text(plan, draw)),
        "hash": draw.plan_hash[:12],
    }
    return sheet_pdf("field_plan.typ", content)


def _holes(field: Field) -> bool:
    """Whether ground inside the outline is not sown."""
    return not field.obstacles.is_empty or any(part.interiors for part in field.boundary.geoms)


def _columns(from_edge: bool, *, many: bool) -> list[str]:
    origin = "the edge" if from_edge else "the first strip"
    if many:
        return ["strip", "rows", "start", "far end"]
    return ["strip", f"rows from {origin}", "weighed rows", "length", "start", "far end"]


def methods_data(plan: Plan) -> list[dict[str, Any]]:
    """Return letter, name, pattern and machine of every method, as plain data for a template.

    Parameters
    ----------
    plan : Plan
        The trial.
    """
    return [
        {
            "letter": m.letter,
            "name": m.name + (" (what the farm does now)" if m.baseline else ""),
            "machine": m.machine,
            "svg": swatch_svg(m.letter, plan.letters),
            "alt": f"Pattern of {m.letter}",
        }
        for m in plan.methods
    ]


def _row(one: RowCount, draw: Draw, *, many: bool) -> list[str]:
    cut = [] if many else [f"{one.cut_rows[0]}–{one.cut_rows[1]}", f"{draw.strip(one.strip).length_m:.1f}"]
    ends = [f"{one.start_m:.1f}", f"{one.far_m:.1f}"]
    return [f"{one.strip} {one.method}", f"{one.rows[0]}–{one.rows[1]}", *cut, *ends]


def _facts(plan: Plan, field: Field, draw: Draw) -> list[str]:
    strips = sum(s.area_m2 for s in draw.strips) / 1e4
    cut = draw.strips[0]
    return [
        f"Field {geodesic_area_m2(field.boundary) / 1e4:.2f} ha, strips {strips:.2f} ha.",
        f"Strip {cut.width_m:g} m wide, weighed {cut.cut_width_m:g} m in its middle.",
        f"Headland {plan.layout.headland_m:g} m along the whole edge: sown, not weighed.",
    ]


def fixed_page(plan: Plan, draws: tuple[Draw, ...], plan_hash: str) -> Document:
    """Return the page that is fixed before harvest: question, outcome, analysis, limits, starting assumptions, hashes.

    Parameters
    ----------
    plan : Plan
        The plan as it stands.
    draws : tuple of Draw
        All draws; the last one counts.
    plan_hash : str
        Hash of the plan as it stands.
    """
    draw = draws[-1]
    return Document(
        title="Fixed before harvest",
        subtitle=f"{plan.trial.name}, season {plan.trial.season}",
        language="en",
        banner=INVENTED if plan.trial.invented else "",
        footer=f"plan {plan_hash[:12]}",
        parts=(
            Paragraph("What stands here was settled before a plant was cut. Whoever reads the result can check it."),
            Facts((*_question_facts(plan), *_analysis(plan), *_prior_facts(plan), _advice(plan))),
            _methods_table(plan),
            draws_table(draws),
            *_limits(draw),
            Facts(tuple(_hash_facts(draw, plan_hash))),
            *_changed(draw, plan_hash),
            Note("Signed", "Date, name: ____________________   Date, name: ____________________"),
        ),
    )


def fixed_page_pdf(plan: Plan, draws: tuple[Draw, ...], plan_hash: str) -> bytes:
    """Return `fixed_page` as PDF.

    Parameters
    ----------
    plan, draws, plan_hash
        As in `fixed_page`.
    """
    return pdf(fixed_page(plan, draws, plan_hash), {})


def _limits(draw: Draw) -> tuple[Table, ...]:
    """Return the limits of the draw in one table, so that the page stays one page with two factors too."""
    return limits_tables(draw) if draw.split is None else (limits_of_two(draw.split, draw.limits),)


def _question_facts(plan: Plan) -> list[Fact]:
    outcome, rate = plan.outcome, plan.trial.rate_question
    rates = "the same seeds per square metre for all" if rate == "same_rate" else "each method at its advised rate"
    if plan.grid is not None and plan.factors.within == "seed_rate":
        rates = f"one of the two things compared: {' and '.join(plan.grid.within_levels)}"
    return [
        Fact("Question", plan.trial.question or "not written down"),
        Fact("Main outcome", f"{outcome.unit}, weighed strip by strip; expected {number(outcome.expected, 1)}"),
        Fact("Seed rate", rates),
    ]


def _methods_table(plan: Plan) -> Table:
    columns = (
        Column("Method"),
        Column("What it is", share=1.0),
        Column("Seeds", "1/m2", "right"),
        Column("Depth", "cm", "right"),
        Column("Speed", "km/h", "right"),
        Column("Starter", "kg/ha", "right"),
    )
    rows = tuple(
        (
            m.letter,
            m.name + (" (baseline)" if m.baseline else ""),
            f"{m.seeds_per_m2:g}",
            f"{m.depth_cm:g}",
            f"{m.speed_km_per_h:g}",
            f"{m.starter_kg_per_ha:g}",
        )
        for m in plan.methods
    )
    return Table("What is compared", columns, rows)


def _analysis(plan: Plan) -> list[Fact]:
    level, grid = percent(plan.advice.level), plan.grid
    two = (
        Fact(
            "Two things at once",
            f"The {grid.whole} is judged by the spread of whole plots (strips side by side), the {grid.within} and "
            f"whether it counts differently from one {grid.whole} to the other by the spread of strips within them. "
            "Each has a randomisation test of its own; single methods have none.",
        )
        if grid is not None
        else None
    )
    return [
        *([two] if two is not None else []),
        Fact(
            "How it will be looked at",
            "The strip is the unit: what is measured twice in a strip counts once. Each method against the baseline, "
            f"block by block: a mixed model with blocks (REML, Kenward-Roger), ranges at {level}. Beside it a "
            "randomisation test over exactly the orders that could have been drawn, and the chance that it pays. Where "
            "the three disagree, it is said.",
        ),
        Fact(
            "What goes wrong",
            "A lost strip stays missing; a strip sown wrongly counts as it was sown; nothing is filled in.",
        ),
    ]


def _prior_facts(plan: Plan) -> list[Fact]:
    prior = plan.prior
    return [
        Fact(
            "Assumed: extra yield in the long run",
            f"{prior.gain_mean_percent:g} %, give or take {prior.gain_sd_percent:g} % (standard deviation). "
            f"{sentence(prior.gain_source)}",
        ),
        Fact(
            "Assumed: one season against the long run",
            f"{prior.season_sd_percent:g} % (standard deviation). {sentence(prior.season_source)}",
        ),
        Fact(
            "Assumed: strips sown alike differ by",
            f"{prior.strip_error_percent:g} % (middle of the assumption). {sentence(prior.strip_error_source)}",
        ),
    ]


def _advice(plan: Plan) -> Fact:
    advice = plan.advice
    loss = plan.worthwhile_loss
    no_worse = "" if loss is None else f" Not worse means: no more than {loss:g} {plan.outcome.amount}/ha less."
    return Fact(
        "Limits of the advice",
        f'"Use it" only if the chance of losing money is at most {percent(advice.largest_chance_of_loss)}. With fewer '
        f'than {advice.fewest_blocks} complete blocks: "cannot tell".{no_worse}',
    )


def _hash_facts(draw: Draw, plan_hash: str) -> list[Fact]:
    return [
        Fact("Drawn", f"{said_moment(draw.drawn_at)}, by version {draw.version}"),
        Fact("Plan when drawn", draw.plan_hash),
        Fact("Plan now", "the same" if plan_hash == draw.plan_hash else plan_hash),
    ]


def _changed(draw: Draw, plan_hash: str) -> tuple[Note, ...]:
    if plan_hash == draw.plan_hash:
        return ()
    return (Note("Changed.", "The plan was changed after the draw; this page shows it as it stands now."),)
