"""The sheet to count plants on in the field: one line a strip, a large box a row unit, the method hidden."""

from __future__ import annotations

from typing import Any

from evenground.adapters.pdf import sheet_pdf
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.stand.plants import row_length_m

MOST_BOXES = 8
HOW = (
    "Measure the length printed with the strip along each row unit, once in every strip, and write the plants you find "
    "into its box. Count both lines of a twin row. Rows behind wheels and tank count like the others. Walk to a place "
    "chosen before you see it. Late plants (two leaves behind) are counted with the others and again under late."
)
STAGES = (
    "Ring one: 3 leaves  /  after the last hoeing  /  emerging.   Lost: C crows, B boar, W wireworm, K crust, H hoe, "
    "O other, with their number."
)
CAUTION = (
    "Hot days, work alone, boar in tall maize: tell somebody where you are. After spraying keep to the label and the "
    "local rules on entering the field."
)


def count_sheet(plan: Plan, draw: Draw) -> bytes:
    """Return the count sheet of a trial as PDF: A4 across, tagged (PDF/UA-1), fonts embedded.

    Parameters
    ----------
    plan : Plan
        Methods with their planter and row spacing; the sheet does not name them.
    draw : Draw
        The strips.
    """
    return sheet_pdf("count_sheet.typ", sheet_content(plan, draw))


def sheet_content(plan: Plan, draw: Draw) -> dict[str, Any]:
    """Return what stands on the sheet as plain data.

    A planter with more than eight row units gets several tables, so that the boxes stay large.

    Parameters
    ----------
    plan : Plan
        Methods with their planter and row spacing.
    draw : Draw
        The strips.
    """
    rows = {m.letter: plan.machine(m.machine).rows for m in plan.methods}
    lengths = {m.letter: row_length_m(m.row_pattern.row_spacing_m) for m in plan.methods}
    most = max(rows[s.method] for s in draw.strips)
    tables = []
    for first in range(1, most + 1, MOST_BOXES):
        units = [u for u in range(first, first + MOST_BOXES) if u <= most]
        strips = [s for s in sorted(draw.strips, key=lambda s: s.strip) if rows[s.method] >= first]
        lines = [{"strip": str(s.strip), "length": f"{lengths[s.method]:.2f} m"} for s in strips]
        tables.append({"units": [str(u) for u in units], "strips": lines})
    return {
        "title": f"Count sheet: {plan.trial.name}",
        "how": HOW,
        "blanks": ["Day", "Who", "Row unit 1 is the one on the"],
        "stages": STAGES,
        "caution": CAUTION,
        "head": {"strip": "strip", "length": "length", "unit": "unit", "late": "late", "lost": "lost"},
        "tables": tables,
    }
