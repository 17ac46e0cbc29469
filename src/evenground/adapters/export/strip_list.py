"""The drawn strips as a table without coordinates: for those who may know how, but not where."""

from __future__ import annotations

import csv
import io

from evenground.basis.strip import Draw

COLUMNS = (
    "strip",
    "block",
    "method",
    "width_m",
    "length_m",
    "area_m2",
    "cut_width_m",
    "cut_length_m",
    "cut_area_m2",
)
DIGITS = 2


def strip_list_csv(draw: Draw) -> bytes:
    """Write the strips as comma-separated text; lengths and areas to two decimals.

    Parameters
    ----------
    draw : Draw
        The strips.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for strip in draw.strips:
        values = [getattr(strip, name) for name in COLUMNS]
        writer.writerow([f"{v:.{DIGITS}f}" if isinstance(v, float) else v for v in values])
    return out.getvalue().encode()
