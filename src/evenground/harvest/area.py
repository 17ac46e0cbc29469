"""The ground of the weighed cut: rows cut x length x measured spacing, outer rows reaching half-way to the next row."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from evenground.basis.errors import InputError, problem
from evenground.basis.harvest_records import CutArea
from evenground.basis.observations import Event, MeasuredJoint, current
from evenground.basis.strip import Strip
from evenground.harvest.joints import Place, SeenJoints, seen_joints

# How far a planter's row spacing may be off from the nominal one, over its whole width: judgement, no source.
SPACING_SD_M = 0.005
# How far a joint between passes may be off. Joints of 70 to 80 cm were met where 75 was ordered with satellite
# steering: a span of 10 cm, as a standard deviation 10 / sqrt 12. The span is common practice, no source.
JOINT_SD_M = 0.10 / 12**0.5
NONE: tuple[float | None, float | None] = (None, None)


@dataclass(frozen=True)
class Ground:
    """The area a strip's mass came from.

    Attributes
    ----------
    area_m2 : float
        Area [m2].
    width_m : float
        Width [m].
    source : str
        "geometry", "joints" (as drawn, corrected by joints measured after sowing), "measured" (cut_measured) or "rows"
        (rows x length x spacing).
    own_sd_fraction : float
        How far it may be off by itself, in proportion [1].
    errors : mapping of str to float
        Errors it has in common with other strips: name to standard deviation in proportion [1].
    notes : tuple of str
        In plain words.
    """

    area_m2: float
    width_m: float
    source: str
    own_sd_fraction: float = 0.0
    errors: Mapping[str, float] = field(default_factory=dict)
    notes: tuple[str, ...] = ()


def cut_width_m(
    cut: CutArea, row_spacing_m: float, joints: Sequence[float] = (), beside: tuple[float | None, float | None] = NONE
) -> float:
    """Say how wide the ground is that the rows cut stood on [m].

    Between the rows the measured spacing counts, at a joint the measured joint; each outer row reaches half-way to the
    next row left standing.

    Parameters
    ----------
    cut : CutArea
        What was measured.
    row_spacing_m : float
        Spacing to use where none was measured [m].
    joints : sequence of float
        Joints inside the strip measured after sowing [m]; they count where the cut names none.
    beside : (float or None, float or None)
        How much wider than ordered the joints left and right of the cut are, measured after sowing [m]; they count
        where the cut names no gap on that side.

    Source: arithmetic; the nearest-row rule is that of growing space.

    Examples
    --------
    >>> from datetime import datetime
    >>> when = datetime(2026, 9, 15)
    >>> cut_width_m(CutArea(id="1", time=when, strips="1", rows=6, length_m=200, row_spacing_m=0.75), 0.75)
    4.5
    """
    spacing = cut.row_spacing_m or row_spacing_m
    known = cut.joints or tuple(joints)[: cut.rows - 1]
    inside = spacing * (cut.rows - 1 - len(known)) + sum(known)
    left, right = ((gap or 0.0) + spacing for gap in beside)
    return inside + 0.5 * ((cut.left_gap_m or left) + (cut.right_gap_m or right))


def ground(
    strip: Strip,
    method: str,
    row_spacing_m: float,
    cuts: Sequence[CutArea],
    events: Iterable[Event],
    joints: Iterable[MeasuredJoint] = (),
    place: Place | None = None,
) -> Ground:
    """Say what ground a strip's mass came from; the later of two measurements counts.

    Parameters
    ----------
    strip : Strip
        As drawn.
    method : str
        Letter as sown.
    row_spacing_m : float
        Nominal row spacing of that method [m].
    cuts : sequence of CutArea
        All records, corrections included.
    events : iterable of Event
        All events, corrections included; ``cut_measured`` and ``left_out`` are looked at.
    joints : iterable of MeasuredJoint
        Joints measured after sowing, corrections included.
    place : Place or None
        Where the cut lies among rows, passes and neighbours; without it no joint between two strips counts.

    Returns
    -------
    Ground

    Raises
    ------
    InputError
        If more was left out than there was.
    """
    mine = sorted((e for e in current(events) if strip.strip in e.strips), key=lambda e: e.time)
    found = _rows(strip, method, row_spacing_m, cuts, joints, place)
    if found is None:
        found = _measured(strip, mine, row_spacing_m, seen_joints(strip.strip, joints, row_spacing_m, place))
    left_out = sum(e.length_m or 0.0 for e in mine if e.event == "left_out")
    if left_out == 0.0:
        return found
    area = found.area_m2 - left_out * found.width_m
    if not area > 0.0:
        text = f"in strip {strip.strip} so much was left out that nothing remains."
        longest = f"less than {found.area_m2 / found.width_m:g} m in all"
        raise InputError(
            [problem(text, file="records/events.csv", field="length_m", given=f"{left_out:g}", allowed=longest)]
        )
    note = f"{left_out:g} m were left out, as in every strip of block {strip.block}"
    return Ground(area, found.width_m, found.source, found.own_sd_fraction, found.errors, (*found.notes, note))


def _measured(strip: Strip, events: Sequence[Event], row_spacing_m: float, joints: SeenJoints) -> Ground:
    cuts = [e for e in events if e.event == "cut_measured"]
    if cuts and cuts[-1].length_m is not None and cuts[-1].width_m is not None:
        return Ground(cuts[-1].length_m * cuts[-1].width_m, cuts[-1].width_m, "measured")
    if joints == SeenJoints():
        return Ground(strip.cut_area_m2, strip.cut_width_m, "geometry")
    inside = sum(joint - row_spacing_m for joint in joints.inside)
    width = strip.cut_width_m + inside + 0.5 * ((joints.left or 0.0) + (joints.right or 0.0))
    note = f"joints measured after sowing make the cut {width:.2f} m wide instead of {strip.cut_width_m:.2f} m"
    return Ground(strip.cut_area_m2 * width / strip.cut_width_m, width, "joints", notes=(note,))


def _rows(
    strip: Strip,
    method: str,
    row_spacing_m: float,
    cuts: Sequence[CutArea],
    joints: Iterable[MeasuredJoint],
    place: Place | None,
) -> Ground | None:
    mine = sorted((c for c in current(cuts) if strip.strip in c.strips), key=lambda c: c.time)
    if not mine:
        return None
    cut = mine[-1]
    seen = seen_joints(strip.strip, joints, row_spacing_m, place, cut.rows)
    width = cut_width_m(cut, row_spacing_m, seen.inside, (seen.left, seen.right))
    beside = ((cut.left_gap_m, seen.left), (cut.right_gap_m, seen.right))
    half_gaps = sum(0.5 for told in beside if told == NONE)
    own = JOINT_SD_M * (0.5 * half_gaps) ** 0.5 / width  # each nominal half gap: half the joint's error, independent
    errors, notes = {}, []
    if cut.row_spacing_m is None:
        known = len(cut.joints or seen.inside)
        errors[f"nominal row spacing of {method}"] = SPACING_SD_M * (cut.rows - 1 - known) / width
        notes.append(f"the row spacing was not measured; the nominal {row_spacing_m:g} m counts")
    if half_gaps:
        notes.append("the gap to the next row was not measured on " + ("both sides" if half_gaps == 1 else "one side"))
    return Ground(width * cut.length_m, width, "rows", own, errors, tuple(notes))
