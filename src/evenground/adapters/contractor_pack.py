"""One archive for the contractor: lines for the terminal, and a card that works when no terminal reads them."""

from __future__ import annotations

from evenground.adapters.driver_card import driver_card
from evenground.adapters.export.gis_files import shapefiles, zipped
from evenground.adapters.export.kml import kml
from evenground.adapters.export.layers import layers
from evenground.adapters.export.task_data import FILE_NAME, task_data
from evenground.basis.field import Field
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw

CARD = "drivers-card.pdf"


def contractor_pack(plan: Plan, field: Field, draw: Draw, *, version: str) -> bytes:
    """Return the archive (ZIP): task data, Shapefiles, KML, the driver's card and a short text.

    It holds nothing about other fields, prices or results.

    Parameters
    ----------
    plan : Plan
        The trial.
    field : Field
        Outline and obstacles.
    draw : Draw
        The strips.
    version : str
        Program version.
    """
    found = layers(plan, field, draw)
    shapes = {f"shapefiles/{name}": content for name, content in shapefiles(found).items()}
    return zipped(
        {
            "READ-ME.txt": _read_me(plan, draw).encode(),
            CARD: driver_card(plan, field, draw),
            FILE_NAME: task_data(plan, found, version=version),
            **shapes,
            "lines.kml": kml(found, plan.trial.name, plan.letters),
        }
    )


def _read_me(plan: Plan, draw: Draw) -> str:
    invented = "This trial is invented: farm, place and season are made up.\r\n\r\n" if plan.trial.invented else ""
    lines = (
        f"{plan.trial.name}, season {plan.trial.season}",
        f"Draw {draw.number}, plan {draw.plan_hash[:12]}",
        "",
        f"{CARD}: print it and keep it in the cab. It is enough on its own: pictures, rows counted from the edge,",
        "order of passes, markers to tick off, whom to call.",
        "",
        "TASKDATA: copy the folder to a stick for the terminal (ISO 11783-10). One task and one set of lines for",
        "each planter, one set of lines for the harvester. Every pass has its own line; do not let the terminal copy",
        "lines sideways.",
        "shapefiles, lines.kml: the same for terminals that read those (WGS84, longitude and latitude).",
        "",
        "Drive one line first and measure its distance from the edge with a tape before you sow the rest.",
        "Strips carry letters. What matters is that each strip gets its letter; if one goes wrong, write down which.",
        "Local rules on seed, fertiliser, plant protection and the road go first.",
    )
    return invented + "\r\n".join(lines) + "\r\n"
