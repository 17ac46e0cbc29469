"""The sheet to score the crop on: one line a strip in walking order, large boxes, the method hidden."""

from __future__ import annotations

from typing import Any

from evenground.adapters.pdf import sheet_pdf
from evenground.basis.observations import Records
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.season.score_list import CAUTION, score_list

HOW = (
    "Score each strip in its middle third, at the same spot each time, in the order of this sheet. Methods are left "
    "out on purpose: let somebody score who does not know them. Leave empty what was not looked at."
)
SCALES = (
    "Ground cover: ground under green leaves, from straight above.   Rolling: 1 flat to 9 rolled up to tubes, at the "
    "hottest hour, all strips within an hour.   Lodged: leaning by more than 30 degrees or broken below the cob.   "
    "Cobs: 10 plants in a row, not chosen."
)
HIDDEN = "Ring one. Whoever scored:   knew the numbers only   /   knew the methods, or saw them by the rows"
BOXES = (
    ("ground cover", "%"),
    ("height", "cm"),
    ("rolling", "1 to 9"),
    ("lodged", "%"),
    ("weeds", "%"),
    ("disease", "name"),
    ("diseased", "% of plants"),
    ("cobs", "on 10 plants"),
    ("cobless", "of these 10"),
    ("picture, note", ""),
)
WAYS = {"up": "walk up", "down": "walk down"}


def score_sheet(plan: Plan, draw: Draw, records: Records) -> bytes:
    """Return the sheet of a crop walk as PDF: A4 across, tagged (PDF/UA-1), fonts embedded.

    Parameters
    ----------
    plan : Plan
        Names the trial; its methods are not named.
    draw : Draw
        The strips.
    records : Records
        Strips not sown or lost are left out.
    """
    return sheet_pdf("score_sheet.typ", score_content(plan, draw, records))


def score_content(plan: Plan, draw: Draw, records: Records) -> dict[str, Any]:
    """Return what stands on the sheet as plain data.

    Parameters
    ----------
    plan, draw, records
        As `score_sheet`.
    """
    return {
        "title": f"Crop walk: {plan.trial.name}",
        "how": HOW,
        "scales": SCALES,
        "hidden": HIDDEN,
        "blanks": ["Day", "From, to (clock)", "Who"],
        "caution": CAUTION,
        "head": {"strip": "strip", "way": "way, middle of the strip"},
        "boxes": [{"name": name, "unit": unit} for name, unit in BOXES],
        "strips": [
            {"strip": str(s.strip), "way": WAYS[s.way], "place": f"{s.lat:.5f}, {s.lon:.5f}"}
            for s in score_list(draw, records)
        ],
    }
