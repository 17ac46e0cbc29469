"""Strips as laid out and drawn: the unit that is randomised, sown, weighed and compared."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from pydantic import Field

from evenground.basis.method import Letter
from evenground.basis.record import Record

Length = Annotated[float, Field(gt=0.0, le=10_000.0)]
Ring = tuple[tuple[float, float], ...]


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
        Limits fixed before the draw.
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
