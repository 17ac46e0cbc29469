"""How strips are named in a sentence."""

from __future__ import annotations

from collections.abc import Sequence


def strip_names(strips: Sequence[int]) -> str:
    """Name strips as people do.

    Examples
    --------
    >>> strip_names((7, 8, 11))
    '7, 8 and 11'
    """
    names = [str(s) for s in strips]
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]
