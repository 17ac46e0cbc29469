"""Wheels and bouts of this season: tramlines of the sprayer, bouts of a slurry or fertiliser spreader."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.layout.detectable import place_of
from evenground.layout.exposure import Weights
from evenground.layout.headings import ALONG_DEG, apart_deg
from evenground.layout.history import Finding

Floats = NDArray[np.float64]
SPREADER = "spreader_bouts"
# Bouts off the strips' direction by no more than this stay in the same strip over its length. Judgement.
_PARALLEL_DEG = 0.5
# A spreader that drives within this of a tramline drives in it. Judgement.
_SAME_TRACK_M = 0.5
_HAIR_M = 1e-6


def spreader_bands(plan: Plan) -> tuple[float, ...]:
    """Return the direction the spreader drives in this season, where it does not follow the strips [deg].

    Parameters
    ----------
    plan : Plan
        Section ``[layout]``.

    Source: definition.
    """
    said = plan.layout.spreader_heading_deg
    return () if plan.layout.spreader_width_m is None or isinstance(said, str) else (float(said),)


def tracks_in(plan: Plan, heading_deg: float, left_m: ArrayLike, width_m: float) -> Weights:
    """Return for each strip how many wheel tracks of sprayer and spreader run in it along the strips [1].

    A spreader that drives in the sprayer's tramlines counts once.

    Parameters
    ----------
    plan : Plan
        ``sprayer_width_m``, ``first_tramline_m`` and the same of the spreader.
    heading_deg : float
        Direction of the strips [deg].
    left_m : array_like, shape (strips,)
        Left edges, strip 1 first [m].
    width_m : float
        Width of the strips [m].

    Returns
    -------
    tuple of (float,)
        Empty where no machine is said to drive along the strips.

    Source: definition; a track on a joint between strips belongs to the strip on its right.
    """
    layout, left = plan.layout, np.asarray(left_m, dtype=np.float64)
    lines: list[Floats] = []
    if layout.sprayer_width_m is not None:
        lines.append(_lines(left, width_m, layout.sprayer_width_m, layout.first_tramline_m))
    if layout.spreader_width_m is not None and _follows(plan, heading_deg):
        own = _lines(left, width_m, layout.spreader_width_m, layout.first_spreader_bout_m)
        if lines and len(lines[0]):
            own = own[np.abs(own[:, np.newaxis] - lines[0]).min(axis=1) > _SAME_TRACK_M]
        lines.append(own)
    return _count(np.concatenate(lines), left, width_m) if lines else ()


def joints_in(plan: Plan, heading_deg: float, left_m: ArrayLike, width_m: float) -> Weights:
    """Return for each strip how many joints between two bouts of the spreader run in it along the strips [1].

    Answers: which strips got more or less than the others, where two bouts overlap or leave a gap?

    Parameters
    ----------
    plan, heading_deg, left_m, width_m
        As `tracks_in`.

    Returns
    -------
    tuple of (float,)
        Empty where no spreader is said to drive along the strips.

    Source: definition; joints lie half-way between two bouts.
    """
    layout, left = plan.layout, np.asarray(left_m, dtype=np.float64)
    bout = layout.spreader_width_m
    if bout is None or not _follows(plan, heading_deg):
        return ()
    return _count(_lines(left, width_m, bout, layout.first_spreader_bout_m + bout / 2.0), left, width_m)


def spreader_finding(plan: Plan, draw: Draw) -> Finding | None:
    """Return what the spreader's bouts of this season mean for strips that are drawn.

    Parameters
    ----------
    plan : Plan
        ``spreader_width_m`` and what belongs to it.
    draw : Draw
        The strips.

    Returns
    -------
    Finding or None
        None where no spreader is named.

    Source: judgement: chance may put a method off its share of tracks or joints by one; more is said first.
    """
    layout = plan.layout
    if layout.spreader_width_m is None:
        return None
    bouts = f"spreader bouts of {layout.spreader_width_m:g} m this season"
    if not _follows(plan, draw.heading_deg):
        (at,) = spreader_bands(plan)
        apart = apart_deg(at, draw.heading_deg)
        if apart <= ALONG_DEG:
            text = (
                f"{bouts}: at {at:g}°, slantwise along the strips; one bout can hit one method more. Drive it across."
            )
            return Finding(SPREADER, "along", text)
        return Finding(SPREADER, "across", f"{bouts}: {apart:.0f}° from the strips; every method crosses them.")
    left, width_m = place_of(plan, draw).left_m, draw.strips[0].width_m
    methods = [strip.method for strip in sorted(draw.strips, key=lambda strip: strip.strip)]
    tracks = _by_method(methods, tracks_in(plan, draw.heading_deg, left, width_m))
    joints = _by_method(methods, joints_in(plan, draw.heading_deg, left, width_m))
    counts = f"wheel tracks {_said(tracks)}, joints between bouts {_said(joints)}"
    if _even(methods, tracks) and _even(methods, joints):
        return Finding(SPREADER, "alike", f"{bouts}: along the strips; {counts}: shared out by the draw.")
    text = (
        f"{bouts}: along the strips; {counts}: not shared evenly. Let the spreader drive across the strips, "
        "or in bouts as wide as a whole block."
    )
    return Finding(SPREADER, "unequal", text)


def _follows(plan: Plan, heading_deg: float) -> bool:
    """Whether bouts run along the strips, so that each stays in the same strip."""
    said = plan.layout.spreader_heading_deg
    return isinstance(said, str) or apart_deg(said, heading_deg) <= _PARALLEL_DEG


def _lines(left: Floats, width_m: float, step_m: float, first_m: float) -> Floats:
    """Return all lines a step apart that lie over the strips [m across]."""
    start = float(left[0]) + first_m
    low, high = float(left.min()) - start, float(left.max()) + width_m - start
    return start + np.arange(np.floor(low / step_m), np.ceil(high / step_m) + 1) * step_m


def _count(lines: Floats, left: Floats, width_m: float) -> Weights:
    # A hair of rounding puts no line on the other side of a joint.
    at = np.sort(lines) + _HAIR_M
    inside = np.searchsorted(at, left + width_m) - np.searchsorted(at, left)
    return tuple((float(n),) for n in inside)


def _by_method(methods: Sequence[str], weights: Weights) -> dict[str, float]:
    out = dict.fromkeys(sorted(set(methods)), 0.0)
    for method, (n,) in zip(methods, weights, strict=True):
        out[method] += n
    return out


def _even(methods: Sequence[str], counts: Mapping[str, float]) -> bool:
    each = sum(counts.values()) / len(methods)
    return all(abs(n - each * methods.count(method)) <= 1.0 for method, n in counts.items())


def _said(counts: Mapping[str, float]) -> str:
    return ", ".join(f"{method} {n:g}" for method, n in counts.items())
