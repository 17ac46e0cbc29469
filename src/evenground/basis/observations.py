"""The records of the season: what was seen, by whom, when. Never changed, only followed by a correction.

Each kind is one CSV file of the trial folder (``records/KIND.csv``); field names are its columns.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Annotated, ClassVar, Literal, Self, TypeVar

from pydantic import Field, model_validator

from evenground.basis.harvest_records import CutArea, Load, Sample, Scale, Stubble, Weighing
from evenground.basis.observed import Observation, OfStrips
from evenground.basis.quality_records import CutPlants, Damage, LabValue, MassEstimate
from evenground.basis.record import Contradictions, Record
from evenground.basis.stand_records import Depth, MeasuredJoint, SpacingRun, StandCount
from evenground.basis.walk_records import MineralNitrogen, RootPit, Scores
from evenground.basis.weather_records import WeatherDay

__all__ = [
    "EVENT_KINDS",
    "RECORD_KINDS",
    "CutArea",
    "CutPlants",
    "Damage",
    "Depth",
    "Event",
    "LabValue",
    "Load",
    "MassEstimate",
    "MeasuredJoint",
    "MineralNitrogen",
    "Observation",
    "OfStrips",
    "Records",
    "RootPit",
    "Sample",
    "Scale",
    "Scores",
    "SpacingRun",
    "StandCount",
    "Stubble",
    "WeatherDay",
    "Weighing",
    "current",
    "records_of",
]


EVENT_KINDS = (
    "sown",
    "not_sown",
    "strip_lost",
    "harvested",
    "cut_measured",
    "left_out",
    "product_changed",
    "irrigated",
    "hoed",
    "sprayed",
    "treated",
    "tilled",
    "previous_crop",
    "marker_set",
    "marker_out",
    "damage",
    "other",
)

FASTEST_KM_PER_H = 40.0
"""No planter sows faster; a figure above this is another unit or a slip: common practice, no source."""

AS_DRIVEN = ("rows_off_m", "lifted_m", "overlap_m2", "sown_fraction", "seeds_per_m2")
"""What a planter's log adds to an entry ``sown``."""

AT_SOWING = ("seed_lot", "hybrid", "dressing", "stops", "rows_off", "speed_km_per_h", *AS_DRIVEN)
"""What belongs to an entry ``sown`` alone."""

DONE_WITH = ("hoed", "sprayed", "treated", "tilled", "previous_crop", "marker_set", "marker_out")
"""Entries that may say with what, or which."""


class Event(OfStrips):
    """Something that happened to strips.

    Attributes
    ----------
    event : str
        ``sown`` (``method`` says how it was really sown), ``not_sown``, ``strip_lost``, ``harvested``,
        ``cut_measured`` (length and width of the weighed cut as measured), ``left_out`` (a length not weighed, in every
        strip of its block alike), ``product_changed`` (what is harvested was changed, of the named strips to
        ``product``; the note says why), ``irrigated``
        (``water_mm`` over the whole strip), ``hoed``, ``sprayed``, ``treated`` (anything else that was done),
        ``tilled`` and ``previous_crop`` (what stood there before; ``what`` says which), ``marker_set`` and
        ``marker_out`` (something stuck into the ground at the strip, and taken out again), ``damage``, ``other``.
    what : str
        With what it was hoed, sprayed, treated or tilled; which crop stood there before, needed for ``previous_crop``;
        which marker, as on the driver's card, such as M12.
    method : str or None
        Letter of the method, for ``sown``.
    product : str or None
        For ``product_changed``: what the named strips were harvested as; None where the plan itself was changed.
    seed_lot : str
        Label of the seed lot in the hopper, for ``sown``; a refill from another lot within a strip is a second entry.
    hybrid, dressing : str
        What the label of the lot says, for ``sown``.
    stops : int or None
        Times the planter stood still in the strip, for ``sown`` [1].
    rows_off : int or None
        Row units that were off, for ``sown``: blocked, closed or switched off [1].
    speed_km_per_h : float or None
        Mean driving speed, for ``sown`` [km/h].
    rows_off_m, lifted_m, overlap_m2, sown_fraction : float or None
        For ``sown``, mostly from a planter's log: metres of single row left out, metres driven with all rows off [m],
        ground sown twice [m2], share of the strip's ground that was sown [1].
    seeds_per_m2 : float or None
        Seeds dropped, for ``sown``, as the planter counted them [1/m2].
    length_m, width_m : float or None
        Measured cut [m], for ``cut_measured``; ``length_m`` alone for ``left_out``.
    water_mm : float or None
        Irrigation water that reached the ground [mm], for ``irrigated``.
    """

    kind: ClassVar[str] = "events"
    event: Literal[
        "sown",
        "not_sown",
        "strip_lost",
        "harvested",
        "cut_measured",
        "left_out",
        "product_changed",
        "irrigated",
        "hoed",
        "sprayed",
        "treated",
        "tilled",
        "previous_crop",
        "marker_set",
        "marker_out",
        "damage",
        "other",
    ]
    method: Annotated[str, Field(pattern=r"^[A-Z]$")] | None = None
    product: Literal["silage", "grain", "corn_cob_mix", "whole_cob"] | None = None
    seed_lot: Annotated[str, Field(max_length=40)] = ""
    hybrid: Annotated[str, Field(max_length=80)] = ""
    dressing: Annotated[str, Field(max_length=80)] = ""
    what: Annotated[str, Field(max_length=80)] = ""
    stops: Annotated[int, Field(ge=0, le=200)] | None = None
    rows_off: Annotated[int, Field(ge=0, le=48)] | None = None
    speed_km_per_h: Annotated[float, Field(gt=0.0, le=FASTEST_KM_PER_H)] | None = None
    rows_off_m: Annotated[float, Field(ge=0.0, le=500_000.0)] | None = None
    lifted_m: Annotated[float, Field(ge=0.0, le=100_000.0)] | None = None
    overlap_m2: Annotated[float, Field(ge=0.0, le=500_000.0)] | None = None
    sown_fraction: Annotated[float, Field(ge=0.0, le=1.0)] | None = None
    seeds_per_m2: Annotated[float, Field(gt=0.0, le=50.0)] | None = None
    length_m: Annotated[float, Field(gt=0.0, le=5000.0)] | None = None
    width_m: Annotated[float, Field(gt=0.0, le=100.0)] | None = None
    water_mm: Annotated[float, Field(gt=0.0, le=200.0)] | None = None

    @model_validator(mode="after")
    def _measured(self) -> Self:
        if self.event == "cut_measured" and (self.length_m is None or self.width_m is None):
            missing = "length_m" if self.length_m is None else "width_m"
            raise Contradictions([(missing, "", "a length and a width", "cut_measured needs length_m and width_m.")])
        if self.event == "left_out" and self.length_m is None:
            raise Contradictions([("length_m", "", "a length", "left_out needs the length that was not weighed.")])
        if self.event == "irrigated" and self.water_mm is None:
            raise Contradictions([("water_mm", "", "millimetres of water", "irrigated needs water_mm.")])
        return self

    @model_validator(mode="after")
    def _of_sowing(self) -> Self:
        if self.event == "sown":
            return self
        said = {n: getattr(self, n) for n in AT_SOWING}
        message = "this belongs to sowing; write it with the event sown."
        faults = [(n, f"{v}", "no value", message) for n, v in said.items() if v not in (None, "")]
        if faults:
            raise Contradictions(faults)
        return self

    @model_validator(mode="after")
    def _decided(self) -> Self:
        if self.product is None:
            return self
        faults: list[tuple[str, str, str, str]] = []
        if self.event != "product_changed":
            message = "this says what strips were harvested as; write it with the event product_changed."
            faults.append(("product", self.product, "no value", message))
        elif not self.note.strip():
            message = "a change of product is a decision; write its reason into note."
            faults.append(("note", "", "the reason, in a few words", message))
        if faults:
            raise Contradictions(faults)
        return self

    @model_validator(mode="after")
    def _said_with_what(self) -> Self:
        if self.event == "previous_crop" and not self.what:
            raise Contradictions([("what", "", "the name of the crop", "previous_crop needs the crop in what.")])
        if self.what and self.event not in DONE_WITH:
            message = "this goes with an entry hoed, sprayed, treated, tilled, previous_crop, marker_set or marker_out."
            raise Contradictions([("what", self.what, "no value", message)])
        return self


KIND_CLASSES: tuple[type[Observation], ...] = (
    StandCount,
    SpacingRun,
    Depth,
    MeasuredJoint,
    Load,
    Weighing,
    Scale,
    MassEstimate,
    CutArea,
    Stubble,
    Sample,
    LabValue,
    CutPlants,
    Damage,
    Scores,
    RootPit,
    MineralNitrogen,
    Event,
    WeatherDay,
)
RECORD_KINDS: dict[str, type[Observation]] = {c.kind: c for c in KIND_CLASSES}

Kind = TypeVar("Kind", bound=Observation)


def current(records: Iterable[Kind]) -> tuple[Kind, ...]:
    """Leave out records that a later one replaces; what stays is what counts.

    Parameters
    ----------
    records : iterable of Observation
        All records of one kind, corrections included.

    Returns
    -------
    tuple
        The records nobody replaces, in their order. A chain of corrections leaves its last link.
    """
    every = tuple(records)
    gone = {r.replaces for r in every if r.replaces is not None}
    return tuple(r for r in every if r.id not in gone)


class Records(Record):
    """All records of a trial, corrections included, by kind.

    Attributes
    ----------
    stand_counts, spacing_runs, depths, joints, loads, weighings, scales, mass_estimates, cut_areas, stubble : tuple
    samples, lab_values, cut_plants, damage, scores, root_pits, mineral_nitrogen, events, weather : tuple
        Records of each kind in the order they were stored.
    """

    stand_counts: tuple[StandCount, ...] = ()
    spacing_runs: tuple[SpacingRun, ...] = ()
    depths: tuple[Depth, ...] = ()
    joints: tuple[MeasuredJoint, ...] = ()
    loads: tuple[Load, ...] = ()
    weighings: tuple[Weighing, ...] = ()
    scales: tuple[Scale, ...] = ()
    mass_estimates: tuple[MassEstimate, ...] = ()
    cut_areas: tuple[CutArea, ...] = ()
    stubble: tuple[Stubble, ...] = ()
    samples: tuple[Sample, ...] = ()
    lab_values: tuple[LabValue, ...] = ()
    cut_plants: tuple[CutPlants, ...] = ()
    damage: tuple[Damage, ...] = ()
    scores: tuple[Scores, ...] = ()
    root_pits: tuple[RootPit, ...] = ()
    mineral_nitrogen: tuple[MineralNitrogen, ...] = ()
    events: tuple[Event, ...] = ()
    weather: tuple[WeatherDay, ...] = ()

    @property
    def count(self) -> int:
        """Number of records of all kinds [1]."""
        return sum(len(getattr(self, kind)) for kind in RECORD_KINDS)


def records_of(kinds: dict[str, Sequence[Observation]]) -> Records:
    """Gather records by kind into one object.

    Parameters
    ----------
    kinds : dict
        Kind name (a key of ``RECORD_KINDS``) to records.

    Raises
    ------
    pydantic.ValidationError
        If a record stands under the wrong kind.
    """
    return Records.model_validate({k: tuple(v) for k, v in kinds.items()})
