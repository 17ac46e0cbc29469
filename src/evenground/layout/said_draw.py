"""A draw that was made elsewhere, with a coin or cards, put on record as the farmer tells it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
import shapely

from evenground.basis.canonical import canonical_text
from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.field import LocalPlane
from evenground.basis.plan import Plan
from evenground.basis.strip import SEED_ELSEWHERE, Draw, Ring, Strip
from evenground.layout.draw import draw_codes
from evenground.layout.runs import Frame

NOWHERE = (0.0, 0.0)
"""Longitude and latitude of strips whose field is not known: open sea, so that they are taken for nobody's."""


@dataclass(frozen=True, slots=True)
class SaidStrip:
    """One strip as told.

    Attributes
    ----------
    block : int
        Block it belongs to; blocks are neighbouring strips.
    method : str
        Letter.
    width_m, length_m : float
        The weighed cut [m].
    """

    block: int
    method: str
    width_m: float
    length_m: float

    @property
    def area_m2(self) -> float:
        """Area of the weighed cut [m2]."""
        return self.width_m * self.length_m


def said_draw(
    plan: Plan,
    strips: Sequence[SaidStrip],
    *,
    how: str,
    told_at: datetime,
    plan_hash: str,
    version: str,
    place: tuple[float, float] = NOWHERE,
    heading_deg: float = 0.0,
    number: int = 1,
) -> Draw:
    """Return the record of a draw that was made without this program.

    Answers: which orders could have come out? Without limits on the order, every order within the blocks.

    Parameters
    ----------
    plan : Plan
        Names the methods.
    strips : sequence of SaidStrip
        In the order of the field, from one side to the other.
    how : str
        How it was drawn, in the farmer's words; kept with the draw.
    told_at : datetime
        When it was told.
    plan_hash, version : str
        Hash of the plan as it stands, and program version.
    place : (lon, lat)
        Where strip 1 lies, WGS84 [deg].
    heading_deg : float
        Direction of the strips, clockwise from north [deg].
    number : int
        1 for the first draw of the trial.

    Raises
    ------
    InputError
        If nobody says how it was drawn, a block lacks a method or holds one twice, or its strips are not neighbours.

    Source: Fisher, The Design of Experiments (1935): what was drawn is what the test may assume.
    """
    problems = list(_problems(plan, strips, how))
    if problems:
        raise InputError(problems)
    letters = tuple(sorted(plan.letters))
    blocks = [tuple(letters.index(s.method) for s in strips if s.block == b) for b in dict.fromkeys(_blocks(strips))]
    baseline = letters.index(plan.baseline.letter)
    # Only the set of orders is taken from this call; its own order is thrown away, because one was drawn already.
    codes = draw_codes(tuple(tuple(sorted(b)) for b in blocks), (), baseline, np.random.default_rng(SEED_ELSEWHERE))
    return Draw(
        number=number,
        drawn_at=told_at,
        reason=how.strip(),
        seed=SEED_ELSEWHERE,
        limits=(),
        allowed_orders=codes.allowed_orders,
        listed=codes.listed,
        smallest_p=codes.smallest_p,
        plan_hash=plan_hash,
        plan_text=canonical_text(plan),
        version=version,
        heading_deg=heading_deg,
        strips=tuple(_strips(strips, place, heading_deg)),
    )


def _blocks(strips: Sequence[SaidStrip]) -> list[int]:
    return [s.block for s in strips]


def _problems(plan: Plan, strips: Sequence[SaidStrip], how: str) -> Iterator[Problem]:
    if not how.strip():
        yield problem("say how it was drawn.", field="how", allowed="some words, such as: a coin for each pair")
    for i, s in enumerate(strips, start=1):
        if s.method not in plan.letters:
            yield problem(
                "there is no such method.", row=i, field="method", given=s.method, allowed=", ".join(plan.letters)
            )
    order = _blocks(strips)
    for block in dict.fromkeys(order):
        places = [i for i, b in enumerate(order) if b == block]
        if places[-1] - places[0] + 1 != len(places):
            yield problem("the strips of a block lie side by side.", row=places[0] + 1, field="block", given=block)
        held = Counter(strips[i].method for i in places)
        wanted = {letter: plan.strips_in_block(letter) for letter in plan.letters}
        if held != Counter(wanted):
            text = "a block that was drawn holds every method as often as the plan says."
            given = ", ".join(f"{n} x {letter}" for letter, n in sorted(held.items()))
            allowed = ", ".join(f"{n} x {letter}" for letter, n in sorted(wanted.items()))
            yield problem(text, row=places[0] + 1, field="block", given=given, allowed=allowed)
    if len(dict.fromkeys(order)) < 2:
        yield problem("one block cannot show how far it may be wrong.", field="block", given=1, allowed="at least 2")


def _strips(strips: Sequence[SaidStrip], place: tuple[float, float], heading_deg: float) -> Iterator[Strip]:
    plane, frame, left = LocalPlane(*place), Frame(heading_deg), 0.0
    for number, s in enumerate(strips, start=1):
        shape = plane.to_degrees(frame.rectangle(left, left + s.width_m, 0.0, s.length_m))
        ring: Ring = tuple((float(lon), float(lat)) for lon, lat in shapely.get_coordinates(shape))
        left += s.width_m
        yield Strip(
            strip=number,
            block=s.block,
            method=s.method,
            width_m=s.width_m,
            length_m=s.length_m,
            area_m2=s.area_m2,
            cut_width_m=s.width_m,
            cut_length_m=s.length_m,
            cut_area_m2=s.area_m2,
            outline=ring,
            cut_outline=ring,
        )
