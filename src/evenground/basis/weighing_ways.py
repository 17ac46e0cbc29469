"""Ways to learn the mass of a strip, and how far each may be off for one strip: before the harvest and after it."""

from __future__ import annotations

import math
from typing import Literal

WeighingWay = Literal["weighbridge", "pads", "mixer_wagon", "counter", "trailers", "hand_cut"]

# A counter against one weighed strip only: how far it may drift until the next. Common practice, no source.
COUNTER_SD_FRACTION = 0.05
# Mass per m3 of one trailer load is known to about a tenth, of ten loads to a thirtieth: the error of one over the root
# of their number. Read in a published source whose address is not kept; editable by weighing more loads.
ONE_LOAD_SD_FRACTION = 0.10
# A few metres of row cut by hand against the whole strip. Judgement, no source.
HAND_CUT_SD_FRACTION = 0.10
# A portable scale read once a load, and a mixer wagon's. Common practice, no source.
PORTABLE_SD_FRACTION = 0.01


def own_sd_fraction(way: WeighingWay, loads: float = 1.0) -> float:
    """Say how far one strip's mass may be off by itself, beyond the error of a weighbridge [1].

    Parameters
    ----------
    way : str
        How it is learned.
    loads : float
        Loads of the strip, where trailers are counted [1]; below one counts as one.

    Source: the numbers beside this function.

    Examples
    --------
    >>> own_sd_fraction("pads"), own_sd_fraction("trailers", 4.0), own_sd_fraction("weighbridge")
    (0.01, 0.05, 0.0)
    """
    known: dict[WeighingWay, float] = {
        "weighbridge": 0.0,
        "pads": PORTABLE_SD_FRACTION,
        "mixer_wagon": PORTABLE_SD_FRACTION,
        "counter": COUNTER_SD_FRACTION,
        "trailers": ONE_LOAD_SD_FRACTION / math.sqrt(max(loads, 1.0)),
        "hand_cut": HAND_CUT_SD_FRACTION,
    }
    return known[way]
