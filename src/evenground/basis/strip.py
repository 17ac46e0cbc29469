"""Strips as laid out and drawn: the unit that is randomised, sown, weighed and compared."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from pydantic import Field

from evenground.basis.method import Letter
from evenground.basis.record import Record

Length = Annotated[float, Field(gt=0.0, le=10_000.0)]
Ring = tuple[tuple[float, float], ...]
SEED_ELSEWHERE = 0
"""What stands for the seed of a draw that was made elsewhere, with a coin or cards."""


class Strip(Record):
    """One strip.

    Attributes
    ----------
    strip : int
        Number, counted across the field from its first slot.
    block : int
        Block it belongs to.
    method : str
        Letter drawn for it.
    whole_plot : int or None
        With two factors: number of the whole plot, the strips side by side that are sown with one row pattern.
    width_m, length_m, area_m2 : float
        The whole slot: width, mean length [m] and area [m2].
    cut_width_m, cut_length_m, cut_area_m2 : float
        The weighed cut in its middle: width, length [m] and area [m2].
    outline, cut_outline : tuple of (lon, lat)
        Closed rings in WGS84 [deg].
    """

    strip: Annotated[int, Field(ge=1, le=9999)]
    block: Annotated[int, Field(ge=1, le=999)]
    method: Letter
    whole_plot: Annotated[int, Field(ge=1, le=9999)] | None = None
    width_m: Length
    length_m: Length
    area_m2: Annotated[float, Field(gt=0.0)]
    cut_width_m: Length
    cut_length_m: Length
    cut_area_m2: Annotated[float, Field(gt=0.0)]
    outline: Ring
    cut_outline: Ring


class AppliedLimit(Record):
    """A limit on the order as it was applied in a draw.

    Attributes
    ----------
    name : str
        ``equal_orders``, ``linear_trend``, ``quadratic_trend``, ``edge``, ``tramline`` or ``covariates``.
    bound : float or None
        Largest value allowed [1]; None for limits without one.
    applied : bool
        False where it was dropped because the test could no longer reach its level.
    reason : str
        Why, in words.
    weights : tuple of tuple of float
        For each strip what is balanced: touching open ground, tramlines, covariates; empty where it follows from the
        number of strips.
    """

    name: str
    bound: float | None = None
    applied: bool
    reason: str = ""
    weights: tuple[tuple[float, ...], ...] = ()


class SplitDraw(Record):
    """What a draw of two factors adds: whole plots drawn within blocks, then what is changed within them.

    Attributes
    ----------
    whole, within : str
        What the factors are called.
    whole_levels, within_levels : tuple of str
        Their levels in words, those of the baseline first.
    letters : tuple of tuple of str
        Method of each whole level (down) and level within (across).
    limits : tuple of AppliedLimit
        Limits on the order of whole plots; weights are one a whole plot.
    whole_orders, within_orders : int
        Orders of whole plots, and of strips within them, that could have come out [1].
    whole_listed, within_listed : bool
        Whether they were listed.
    whole_smallest_p, within_smallest_p : float
        Smallest p of the randomisation test of each factor [1].
    """

    whole: str
    within: str
    whole_levels: Annotated[tuple[str, ...], Field(min_length=2, max_length=3)]
    within_levels: Annotated[tuple[str, ...], Field(min_length=2, max_length=3)]
    letters: tuple[tuple[Letter, ...], ...]
    limits: tuple[AppliedLimit, ...] = ()
    whole_orders: int
    within_orders: int
    whole_listed: bool = True
    within_listed: bool = True
    whole_smallest_p: float
    within_smallest_p: float

    def levels_of(self, letter: str) -> tuple[int, int]:
        """Return the whole level and the level within of a method, from 0.

        Raises
        ------
        KeyError
            If no such method was drawn.
        """
        for upper, row in enumerate(self.letters):
            if letter in row:
                return upper, row.index(letter)
        raise KeyError(letter)


class Draw(Record):
    """How the methods were drawn: enough to list the same set of allowed orders again.

    Attributes
    ----------
    number : int
        1 for the first draw of the trial.
    drawn_at : datetime
        When.
    reason : str
        Why again; empty for the first draw.
    seed : int
        Seed of the random generator.
    limits : tuple of AppliedLimit
        Limits fixed before the draw; with two factors those on the strips within whole plots.
    allowed_orders : int
        Number of orders that could have come out [1]; where the set was too large to list, the number of free orders.
    listed : bool
        Whether the set was listed in full.
    smallest_p : float
        Smallest p the randomisation test can give for a method against the baseline.
    plan_hash : str
        Hash of the plan as it stood.
    plan_text : str
        Canonical text of the plan as it stood, so that later changes can be shown as later; empty in older files.
    version : str
        Program version.
    heading_deg : float
        Heading of the strips, clockwise from north [deg].
    strips : tuple of Strip
        What came out.
    split : SplitDraw or None
        With two factors: how whole plots were drawn.
    """

    number: Annotated[int, Field(ge=1)]
    drawn_at: datetime
    reason: str = ""
    seed: int
    limits: tuple[AppliedLimit, ...] = ()
    allowed_orders: int
    listed: bool = True
    smallest_p: float
    plan_hash: str
    plan_text: str = ""
    version: str
    heading_deg: float
    strips: tuple[Strip, ...]
    split: SplitDraw | None = None

    @property
    def told(self) -> bool:
        """Whether it was made elsewhere and told afterwards: no seed, no limits, and somebody's words on how."""
        return self.seed == SEED_ELSEWHERE and not self.limits and self.split is None and bool(self.reason)

    def strip(self, number: int) -> Strip:
        """Return the strip with this number.

        Raises
        ------
        KeyError
            If there is none.
        """
        for strip in self.strips:
            if strip.strip == number:
                return strip
        raise KeyError(number)
