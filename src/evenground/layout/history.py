"""What earlier years left in the ground, held against the strips: so that none is hit more."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from evenground.basis.field import Field
from evenground.basis.layout_plan import BAND_KINDS, PLACE_KINDS
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.layout.headings import ALONG_DEG, apart_deg

# A line such as a drain or an old border reaches so far to both sides. Judgement.
LINE_REACH_M = 1.5
# Strips of a block whose covered shares differ by more than this are not hit alike. Judgement.
UNEQUAL_SHARE = 0.1


@dataclass(frozen=True, slots=True)
class Finding:
    """One question of the field's history and what it means for the strips.

    Attributes
    ----------
    kind : str
        Key of section ``[history]``.
    state : str
        ``across``, ``along``, ``alike``, ``unequal``, ``none``, ``don't know``, ``not asked`` or ``not drawn``.
    message : str
        In words.
    blocks : tuple of int
        Blocks whose strips are not hit alike.
    """

    kind: str
    state: str
    message: str
    blocks: tuple[int, ...] = ()

    @property
    def against(self) -> bool:
        """Whether it speaks against the layout and is said first."""
        return self.state in ("along", "unequal")


def findings(plan: Plan, field: Field, draw: Draw) -> tuple[Finding, ...]:
    """Return what each question of the field's history means for strips that are laid out.

    Answers: do the strips lie across old bands, or each block inside one, so that every method gets the same of it?

    Parameters
    ----------
    plan : Plan
        What was said.
    field : Field
        What was drawn.
    draw : Draw
        The strips.

    Returns
    -------
    tuple of Finding
        One for each question, in the order of the plan; what is drawn counts before what is said.

    Source: judgement.
    """
    said = plan.history.model_dump()
    out = []
    for kind, name in {**BAND_KINDS, **PLACE_KINDS}.items():
        drawn = [trace.shape for trace in field.history if trace.kind == kind]
        if drawn:
            out.append(_drawn(kind, name, [field.plane.to_metres(shape) for shape in drawn], field, draw))
        else:
            out.append(_said(kind, name, said[kind], draw.heading_deg))
    return tuple(out)


def bands_of(plan: Plan) -> tuple[float, ...]:
    """Return the directions of old bands in the ground that were told [deg].

    Parameters
    ----------
    plan : Plan
        Section ``[history]``.

    Source: definition.
    """
    told = (getattr(plan.history, kind) for kind in BAND_KINDS)
    return tuple(float(answer) for answer in told if not isinstance(answer, str))


def drawn_area(shapes: Sequence[BaseGeometry]) -> BaseGeometry:
    """Return the ground that drawn traces take up together [m]; lines reach `LINE_REACH_M` to both sides.

    Parameters
    ----------
    shapes : sequence of BaseGeometry
        Areas and lines, in a metric plane [m].

    Source: judgement.
    """
    return shapely.union_all([s if s.area > 0 else s.buffer(LINE_REACH_M) for s in shapes])


def _said(kind: str, name: str, answer: str | float, heading_deg: float) -> Finding:
    if isinstance(answer, str):
        messages = {
            "none": "none.",
            "don't know": "not known; ask whoever worked the field before, or look at old air photographs.",
            "not asked": "not asked yet.",
            "drawn": "said to be drawn, but the map of the field holds no such thing (role history in field.geojson).",
        }
        return Finding(kind, "not drawn" if answer == "drawn" else answer, f"{name}: {messages[answer]}")
    apart = apart_deg(answer, heading_deg)
    if apart <= ALONG_DEG:
        text = f"{name}: at {answer:g}°, along the strips; one band can hit one method more. Turn the strips."
        return Finding(kind, "along", text)
    return Finding(kind, "across", f"{name}: at {answer:g}°, {apart:.0f}° from the strips; every method crosses them.")


def _drawn(kind: str, name: str, shapes: Sequence[BaseGeometry], field: Field, draw: Draw) -> Finding:
    area = drawn_area(shapes)
    unequal = []
    for block, strips in groupby(draw.strips, key=lambda strip: strip.block):
        cuts = [field.plane.to_metres(Polygon(strip.cut_outline)) for strip in strips]
        shares = [cut.intersection(area).area / cut.area for cut in cuts]
        if float(np.ptp(shares)) > UNEQUAL_SHARE:
            unequal.append(block)
    if not unequal:
        return Finding(kind, "alike", f"{name}: the strips of every block have the same share of it.")
    where = ", ".join(map(str, unequal))
    text = (
        f"{name}: in block {where} some strips lie on it and others do not. Move or turn the strips, or leave it out."
    )
    return Finding(kind, "unequal", text, tuple(unequal))
