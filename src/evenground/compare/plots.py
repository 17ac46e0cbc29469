"""Several plots of one strip: equal numbers become strip means, unequal numbers keep the strip as a random factor."""

from __future__ import annotations

from collections import Counter

import numpy as np

from evenground.basis.errors import CannotCompareError
from evenground.compare.values import StripValues, codes


def strip_means(rows: StripValues) -> tuple[StripValues, bool]:
    """Return one row a strip, and whether the strips had equally many plots.

    Parameters
    ----------
    rows : StripValues
        One row a plot [outcome unit].

    Returns
    -------
    (StripValues, bool)
        Strip means in order of first appearance, and True where every strip had the same number of rows.

    Raises
    ------
    CannotCompareError
        If plots of one strip differ in method or block.

    Source: with equal numbers the analysis of strip means is the analysis of the strips (Cochran & Cox, Experimental
    Designs, 1957; from memory).
    """
    counts = Counter(rows.strips)
    if max(counts.values()) == 1:
        return rows, True
    names = tuple(counts)
    place = {strip: rows.strips.index(strip) for strip in names}
    for strip, method, block in zip(rows.strips, rows.methods, rows.blocks, strict=True):
        first = place[strip]
        if (rows.methods[first], rows.blocks[first]) != (method, block):
            raise CannotCompareError(f"strip {strip} has plots in more than one method or block.")
    of = codes(rows.strips, names)
    means = np.bincount(of, weights=rows.y) / np.bincount(of)
    methods = tuple(rows.methods[place[s]] for s in names)
    blocks = tuple(rows.blocks[place[s]] for s in names)
    return StripValues(names, methods, blocks, tuple(means.tolist()), rows.shared), len(set(counts.values())) == 1
