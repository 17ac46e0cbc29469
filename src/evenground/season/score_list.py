"""The list for scoring a crop: strips by number in walking order, methods left out on purpose."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from shapely.geometry import Polygon

from evenground.basis.observations import Records, current
from evenground.basis.strip import Draw
from evenground.season.agenda import ENTRY

CAUTION = f"{ENTRY} Tell somebody where you are. Local rules go first."
HIDDEN = (
    "Methods are left out on purpose. Let somebody score who does not know them and write true under hidden; where the "
    "rows give the method away, write false."
)
SCALE = "Leaf rolling: 1 flat, 9 rolled up to tubes. Score each strip in its middle third, at the same spot each time."


@dataclass(frozen=True)
class ScoreSpot:
    """Where to score one strip.

    Attributes
    ----------
    strip : int
        Its number.
    way : {"up", "down"}
        Walked along the heading, or back.
    lon, lat : float
        Middle of its weighed cut [deg].
    """

    strip: int
    way: str
    lon: float
    lat: float

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``list`` of ``walk --list --json``."""
        return dict(self.__dict__)


def score_list(draw: Draw, records: Records) -> tuple[ScoreSpot, ...]:
    """Return the strips in the order in which one walks them: up the first, down the next.

    Parameters
    ----------
    draw : Draw
        The strips.
    records : Records
        Strips not sown or lost are left out.
    """
    gone: set[int] = set()
    for event in sorted(current(records.events), key=lambda e: e.time):
        if event.event in ("not_sown", "strip_lost"):
            gone.update(event.strips)
        elif event.event == "sown":
            gone.difference_update(event.strips)
    there = sorted((s for s in draw.strips if s.strip not in gone), key=lambda s: s.strip)
    out = []
    for i, strip in enumerate(there):
        middle = Polygon(strip.cut_outline).centroid
        out.append(ScoreSpot(strip.strip, "down" if i % 2 else "up", round(middle.x, 7), round(middle.y, 7)))
    return tuple(out)
