"""What is taken along on harvest day, in one PDF: order, tags, weigh list, sampling, stubble, cut plants, cautions."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

from evenground.adapters.field_drawing import strip_row
from evenground.adapters.field_plan import INVENTED
from evenground.adapters.files import write_atomically
from evenground.adapters.pdf import sheet_pdf
from evenground.basis.days import said_day
from evenground.basis.errors import InputError, problem
from evenground.basis.field import Field
from evenground.basis.observations import Records
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.harvest.happened import fate
from evenground.harvest.names import strips_said
from evenground.harvest.samples_wanted import samples_wanted
from evenground.layout.harvest_order import HARVEST_CAUTIONS, HarvestOrder, HarvestStep, harvest_order
from evenground.layout.marks import MARK_CAUTIONS
from evenground.layout.turned_field import TurnedField, turned_field

TEMPLATE = "harvest_pack.typ"
ROW_MM = (180.0, 24.0)
# A tag for each six tonnes to expect, the load of a small trailer: judgement. Blank ones are there for more.
TONNES_PER_TAG, BLANK_TAGS, TAGS_ON_A_PAGE = 6.0, 4, 8
# Lines of the weigh list beyond one for each tag: empty weighings, a slip printed twice, other loads of the day.
SPARE_LINES = 8
MOST_SAMPLES = 4
STUBS = 6

RAIN = (
    "A block once begun is finished, and all its strips count. A shower is waited out beside the block; nothing else "
    "is cut meanwhile.",
    "Can the rest of the block not be cut the same day, the whole block is dropped: every strip of it, those already "
    "weighed too. Half a block is never compared.",
    "Decide without looking at the weights. Write the hour and the reason in the table; slips of a dropped block are "
    "kept, and in the records each of its strips gets the event strip_lost with the reason.",
    "After the rain begin with the next whole block, in the order above. A new day, driver or harvester starts with a "
    "new block as well.",
)
TAG_RULES = (
    "Cut out along the dashes. One tag a load: filled in at the field when the trailer leaves, handed over at the "
    "scale, and kept with the slip.",
    "A trailer holds one strip only. If it could not be helped, write the other strip on the tag as well.",
    "Hand a tag to a driver only when the trailer stands still and the driver has seen you.",
)
WEIGH_RULES = (
    "One line a weighing, also for slips without a tag and tags without a slip. Write the time of the scale, and what "
    "your watch says for the first.",
    "Weigh every trailer empty in the morning, and again whenever it comes by empty: mud and water change it.",
    "Circle kg or t as the slip has it. Write what you read, and reckon nothing.",
)
SAMPLE_RULES = (
    "Take the sample from the tipped heap after the vehicle has left. Never on the load, never behind a tipping "
    "trailer, never in front of the clamp tractor.",
    "Use a scoop, not the hand: grain falls through the fingers.",
    "Take several scoops from each of most loads of the strip, from all over the heap, not only its foot.",
    "Put the scoops of one strip into a clean bucket with a lid, mix, and fill two bags from the mix. Press the air "
    "out, close both, and write strip, bag and time on each.",
    "Into the cool box at once, out of the sun. To the laboratory within 24 hours, or frozen the same day.",
    "Some strips are sampled twice, from the beginning: that alone shows how far one sample may be off.",
)
STUBBLE_RULES = (
    "Set the cutting height before the first strip, alike for all, and leave it. Write it down where it was raised "
    "for stones or lodged plants.",
    "Measure when the machines have left the field: six stubs in each weighed cut, at places chosen before you see "
    "them, from the ground to the cut, not in a wheel track.",
    "Ten centimetres more stubble leave 4 to 5 % of the yield standing: as much as many a difference between methods.",
)
# Ten plants in a row and cobs without husk: practice of published sources whose addresses are not kept. A week before
# and two points: common practice, no source.
PLANT_RULES = (
    "A week before the harvest day, and again on it: ten plants of one row, one after the other, not chosen, inside "
    "the weighed cut and at places fixed before you see them. Cut them as high as the harvester will.",
    "Count cobs, and plants without one that counts. Weigh the ten whole plants, then their cobs without the husks; "
    "where husks stay on, write it down.",
    "Chop and dry a part of the plants and of the cobs: both dry matters make the dry cob share.",
    "The strips of a block on the same day. More than 2 points of dry matter between the methods: say so before the "
    "harvest day is fixed.",
    "Boar may stand in ripe maize: not alone, not with a dog off the lead, and not before the waiting time of the last "
    "spraying is over.",
)
# Silage gas, its look, weight and timing: second hand, from a collection that names Alberta Agriculture Agdex 9036 and
# National Ag Safety Database d001621 among six sources; which of them says what was not looked up. More gas after
# drought, the bubble, the cordon, clamp edges and face: common practice, no source.
GAS = (
    "Silage gas: yellow-brown, heavier than air, and not always to be seen. There is more of it after drought, as "
    "nitrate builds up in the plants.",
    "It forms within hours, most in the first days, and can come for weeks. Do not let the bubble under the sheet out; "
    "cordon off the clamp, its foot and any hollow or pit beside it; keep people and animals away.",
    "Whoever has breathed it sees a doctor at once, even when feeling well: the lungs can fill hours later.",
    "Clamp: keep away from wall edges while tractors roll, and from the face, which can collapse.",
)
LOCAL = "Local rules, the machines' manuals and the leaflets of insurer and authority go before this page."
IN_SHORT = "Nobody on foot near harvester, trailer or rolling tractor without contact to the driver."


def harvest_pack(plan: Plan, field: Field, draw: Draw, records: Records) -> bytes:
    """Return the pack as PDF: A4, tagged (PDF/UA-1), fonts embedded, the same bytes each time.

    Parameters
    ----------
    plan : Plan
        Harvester, expected yield, dry matter and sampling error.
    field : Field
        Outline.
    draw : Draw
        The strips.
    records : Records
        Samples taken so far; their repeats say how many are needed.
    """
    return sheet_pdf(TEMPLATE, pack_content(plan, field, draw, records))


def write_harvest_pack(plan: Plan, field: Field | None, draw: Draw, records: Records, path: Path) -> None:
    """Write the pack into a file, as a whole or not at all.

    Parameters
    ----------
    plan, draw, records
        As `harvest_pack`.
    field : Field or None
        Outline; None where the folder holds none.
    path : Path
        The file; its name ends in ``.pdf``.

    Raises
    ------
    InputError
        If the field outline is missing, the name does not end in ``.pdf``, or the file cannot be written.
    """
    wrong = []
    if field is None:
        text = "the outline of the field is missing; save it as GeoJSON in this file."
        wrong.append(problem(text, file="field.geojson", allowed="a polygon"))
    if path.suffix.lower() != ".pdf":
        wrong.append(problem("the harvest pack is a PDF.", field="--pack", given=path, allowed="a name ending in .pdf"))
    if field is None or wrong:
        raise InputError(wrong)
    try:
        write_atomically(path, harvest_pack(plan, field, draw, records))
    except OSError as error:
        text = f"the file cannot be written here: {error.strerror}."
        raise InputError([problem(text, field="--pack", given=path, allowed="a file that can be written")]) from error


def pack_content(plan: Plan, field: Field, draw: Draw, records: Records) -> dict[str, Any]:
    """Return what stands in the pack as plain data.

    Parameters
    ----------
    plan, field, draw, records
        As `harvest_pack`.
    """
    turned = turned_field(field, draw)
    order = harvest_order(plan, turned)
    gone = _gone(draw, records)
    cuts = [step for step in order.steps if step.weighed and step.strip not in gone]
    tags = _tags(cuts)
    return {
        "title": f"Harvest pack: {plan.trial.name}",
        "subtitle": f"Season {plan.trial.season}. Draw {draw.number} of {said_day(draw.drawn_at)}, "
        f"plan {draw.plan_hash[:12]}",
        "banner": INVENTED if plan.trial.invented else "",
        "in_short": IN_SHORT,
        "order": _order(plan, turned, order, draw, gone),
        "rain": list(RAIN),
        "blocks": _blocks(cuts),
        "tags": tags,
        "tag_rules": list(TAG_RULES),
        "weigh_rules": list(WEIGH_RULES),
        "weigh_lines": len(tags) + SPARE_LINES,
        "sampling": _sampling(plan, records, cuts),
        "stubble": {"rules": list(STUBBLE_RULES), "stubs": STUBS, "strips": [str(step.strip) for step in cuts]},
        "plants": {"rules": list(PLANT_RULES), "strips": [str(step.strip) for step in cuts]},
        "cautions": _cautions(plan),
    }


def _gone(draw: Draw, records: Records) -> frozenset[int]:
    """Return the strips that were lost or never sown: cut with the rest, and not weighed."""
    return frozenset(s.strip for s in draw.strips if fate(s, records.events).state in ("lost", "not_sown"))


def _order(plan: Plan, turned: TurnedField, order: HarvestOrder, draw: Draw, gone: frozenset[int]) -> dict[str, Any]:
    left_out = (
        ""
        if not gone
        else f"{strips_said(sorted(gone)).capitalize()} gave no value before the harvest: cut, do not weigh."
    )
    return {
        "machine": order.machine or "harvester",
        "heading": f"Way: ↑ along the strips, heading {draw.heading_deg:.1f}° from north; ↓ back.",
        "svg": strip_row(plan, turned.boxes, size_mm=ROW_MM, shown="".join(plan.letters), name="pack-harvest"),
        "alt": "All strips from left to right, looking along the heading.",
        "rows": [_step_row(step, gone) for step in order.steps],
        "trailer": f"Trailer: {next(step.trailer for step in order.steps if step.weighed)}.",
        "rules": [*([left_out] if left_out else []), *order.notes],
    }


def _step_row(step: HarvestStep, gone: frozenset[int]) -> dict[str, Any]:
    weighed = step.weighed and step.strip not in gone
    way = "" if step.with_heading is None else "↑" if step.with_heading else "↓"
    where = "all round" if step.strip is None else f"before {step.strip}"
    return {
        "weighed": weighed,
        "cells": [
            str(step.number),
            way,
            "lost strip" if step.weighed and not weighed else step.work,
            f"{step.strip} {step.method}" if step.weighed else where,
            "" if step.block is None else str(step.block),
            "weigh" if weighed else "do not weigh",
            "" if step.fresh_t is None or not weighed else f"{step.fresh_t:.1f}",
            "may stop" if step.break_allowed else "",
        ],
    }


def _blocks(cuts: list[HarvestStep]) -> list[list[str]]:
    """Return each block with its strips, in the order of cutting."""
    blocks = list(dict.fromkeys(step.block for step in cuts))
    return [[str(b), ", ".join(str(step.strip) for step in cuts if step.block == b)] for b in blocks]


def _tags(cuts: list[HarvestStep]) -> list[dict[str, str]]:
    """Return the tags in the order of cutting, then blank ones until the last page is full."""
    found = []
    for step in cuts:
        count = max(1, math.ceil((step.fresh_t or 0.0) / TONNES_PER_TAG))
        found += [
            {"strip": str(step.strip), "block": str(step.block), "load": f"{k} of {count}?"}
            for k in range(1, count + 1)
        ]
    blank = BLANK_TAGS + -(len(found) + BLANK_TAGS) % TAGS_ON_A_PAGE
    return found + [{"strip": "", "block": "", "load": ""}] * blank


def _sampling(plan: Plan, records: Records, cuts: list[HarvestStep]) -> dict[str, Any]:
    wanted = samples_wanted(plan, records)
    listed = min(wanted.per_strip, MOST_SAMPLES)
    lines = [[str(step.strip), f"{k} of {wanted.per_strip}"] for step in cuts for k in range(1, listed + 1)]
    more = f" Only the first {listed} are listed; print this card again." if wanted.per_strip > listed else ""
    return {"rules": [*SAMPLE_RULES, *_lab_rule(plan)], "wanted": " ".join(wanted.sentences) + more, "lines": lines}


def _lab_rule(plan: Plan) -> tuple[str, ...]:
    """Say what the laboratory has to find where starch or energy decides; values are never converted afterwards."""
    outcome = plan.outcome
    if outcome.counted == "yield":
        return ()
    where = f" to {outcome.laboratory}" if outcome.laboratory else ", all to one laboratory"
    system = f" in {outcome.energy_system}, {outcome.energy_edition}" if outcome.counted == "energy" else ""
    return (
        f"This trial counts {outcome.counted}: one bag of every strip goes{where}, and its sheet must give "
        f"{outcome.counted}{system} for each bag by itself. Values of another laboratory or system cannot be used.",
    )


def _cautions(plan: Plan) -> list[dict[str, Any]]:
    hazards = "; ".join(plan.layout.hazards) or "none named; look for cables, masts and wet places"
    phones = "; ".join(plan.people.phones) or "none given"
    return [
        {"name": "On the field, the road and at the heap", "items": list(HARVEST_CAUTIONS)},
        {"name": "Markers and metal", "items": list(MARK_CAUTIONS[:2])},
        {"name": "Clamp and silage gas", "items": list(GAS)},
        {"name": "This field", "items": [f"Hazards: {hazards}.", f"Phone: {phones}."]},
        {"name": "What goes first", "items": [LOCAL]},
    ]
