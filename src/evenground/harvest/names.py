"""How strips and loads are named in a sentence."""

from __future__ import annotations

from collections.abc import Sequence

from evenground.basis.harvest_records import Load

MANY = 3
"""More slips, loads or times than this are counted in one sentence, not named each in one of its own."""


def strip_names(strips: Sequence[int]) -> str:
    """Name strips as people do.

    Examples
    --------
    >>> strip_names((7, 8, 11))
    '7, 8 and 11'
    """
    names = [str(s) for s in strips]
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]


def strips_said(strips: Sequence[int]) -> str:
    """Name strips with the word before them.

    Examples
    --------
    >>> strips_said((7,)), strips_said((7, 8))
    ('strip 7', 'strips 7 and 8')
    """
    return f"strip{'' if len(strips) == 1 else 's'} {strip_names(strips)}"


def load_name(load: Load) -> str:
    """Name a load as people do: by its strips, the time on the clock and its trailer, never by its id.

    Examples
    --------
    >>> load_name(Load(id="x", time="2026-08-28T09:20", strips="7+8", trailer="3"))
    'load of strip 7 and 8 at 09:20 (trailer 3)'
    """
    trailer = f" (trailer {load.trailer})" if load.trailer else ""
    return f"load of strip {strip_names(load.strips)} at {load.time:%H:%M}{trailer}"
