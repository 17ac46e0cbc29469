"""The records of the season: what was seen, by whom, when. Never changed, only followed by a correction.

Each kind is one CSV file of the trial folder (``records/KIND.csv``); field names are its columns.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Annotated, ClassVar, Literal, Self, TypeVar

from pydantic import Field, model_validator

from evenground.basis.observed import Observation, OfStrips
from evenground.basis.record import Contradictions, Record
from evenground.basis.stand_records import Depth, SpacingRun, StandCount

__all__ = [
    "EVENT_KINDS",
    "RECORD_KINDS",
    "Depth",
    "Event",
    "Load",
    "Observation",
    "OfStrips",
    "Records",
    "Sample",
    "SpacingRun",
    "StandCount",
    "WeatherDay",
    "Weighing",
    "current",
    "records_of",
]


class Load(OfStrips):
    """What went into one trailer.

    Attributes
    ----------
    trailer : str
        Which trailer.
    """

    kind: ClassVar[str] = "loads"
    trailer: Annotated[str, Field(max_length=40)] = ""


class Weighing(Observation):
    """What a scale said about one load.

    Attributes
    ----------
    load : str
        ``id`` of the load on the scale.
    scale : str
        Which scale.
    gross_kg : float
        Loaded mass [kg].
    tare_kg : float
        Empty mass [kg].
    """

    kind: ClassVar[str] = "weighings"
    load: Annotated[str, Field(min_length=1, max_length=80)]
    scale: Annotated[str, Field(max_length=40)] = ""
    gross_kg: Annotated[float, Field(gt=0.0, le=80_000.0)]
    tare_kg: Annotated[float, Field(ge=0.0, le=40_000.0)]

    @model_validator(mode="after")
    def _something_on_it(self) -> Self:
        if self.gross_kg <= self.tare_kg:
            message = "gross mass is not above the tare; were the two swapped?"
            raise Contradictions(
                [("gross_kg", f"{self.gross_kg:g}", f"above the tare of {self.tare_kg:g} kg", message)]
            )
        return self

    @property
    def net_kg(self) -> float:
        """Fresh mass of the load [kg]."""
        return self.gross_kg - self.tare_kg


class Sample(OfStrips):
    """A dry-matter (or grain moisture) sample and the strips it stands for.

    Attributes
    ----------
    wet_g, dry_g : float or None
        Oven masses before and after drying [g].
    dry_matter_percent : float or None
        Or the percentage itself [%]; grain: 100 minus moisture.
    """

    kind: ClassVar[str] = "samples"
    wet_g: Annotated[float, Field(gt=0.0, le=100_000.0)] | None = None
    dry_g: Annotated[float, Field(gt=0.0, le=100_000.0)] | None = None
    dry_matter_percent: Annotated[float, Field(ge=8.0, le=99.0)] | None = None

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        oven = self.wet_g is not None and self.dry_g is not None
        either = "wet_g and dry_g, or dry_matter_percent"
        if not oven and self.dry_matter_percent is None:
            raise Contradictions([("dry_matter_percent", "", either, "this sample says nothing about dry matter.")])
        if (self.wet_g is not None or self.dry_g is not None) and self.dry_matter_percent is not None:
            message = "give either oven masses or a percentage, not both."
            raise Contradictions([("dry_matter_percent", f"{self.dry_matter_percent:g}", either, message)])
        if self.wet_g is not None and self.dry_g is not None and self.dry_g >= self.wet_g:
            message = "the dried sample is not lighter than the wet one; were the two swapped?"
            raise Contradictions([("dry_g", f"{self.dry_g:g}", f"below the wet mass of {self.wet_g:g} g", message)])
        return self

    @property
    def dry_matter_fraction(self) -> float:
        """Dry matter per fresh matter [kg/kg]."""
        if self.wet_g is not None and self.dry_g is not None:
            return self.dry_g / self.wet_g
        assert self.dry_matter_percent is not None  # the validator above holds this
        return self.dry_matter_percent / 100.0


EVENT_KINDS = ("sown", "not_sown", "strip_lost", "harvested", "cut_measured", "treated", "damage", "other")


class Event(OfStrips):
    """Something that happened to strips.

    Attributes
    ----------
    event : str
        ``sown`` (``method`` says how it was really sown), ``not_sown``, ``strip_lost``, ``harvested``,
        ``cut_measured`` (length and width of the weighed cut as measured), ``treated``, ``damage``, ``other``.
    method : str or None
        Letter of the method, for ``sown``.
    length_m, width_m : float or None
        Measured cut [m], for ``cut_measured``.
    """

    kind: ClassVar[str] = "events"
    event: Literal["sown", "not_sown", "strip_lost", "harvested", "cut_measured", "treated", "damage", "other"]
    method: Annotated[str, Field(pattern=r"^[A-Z]$")] | None = None
    length_m: Annotated[float, Field(gt=0.0, le=5000.0)] | None = None
    width_m: Annotated[float, Field(gt=0.0, le=100.0)] | None = None

    @model_validator(mode="after")
    def _measured(self) -> Self:
        if self.event == "cut_measured" and (self.length_m is None or self.width_m is None):
            missing = "length_m" if self.length_m is None else "width_m"
            raise Contradictions([(missing, "", "a length and a width", "cut_measured needs length_m and width_m.")])
        return self


class WeatherDay(Observation):
    """One day's weather.

    Attributes
    ----------
    day : date
        The day.
    rain_mm : float or None
        Rain [mm].
    temperature_min_c, temperature_max_c : float or None
        Air temperature [deg C].
    """

    kind: ClassVar[str] = "weather"
    day: date
    rain_mm: Annotated[float, Field(ge=0.0, le=400.0)] | None = None
    temperature_min_c: Annotated[float, Field(ge=-50.0, le=45.0)] | None = None
    temperature_max_c: Annotated[float, Field(ge=-40.0, le=55.0)] | None = None

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        low, high = self.temperature_min_c, self.temperature_max_c
        if low is not None and high is not None and low > high:
            message = "the day's minimum is above its maximum; were the two swapped?"
            raise Contradictions([("temperature_min_c", f"{low:g}", f"at most {high:g}", message)])
        return self


RECORD_KINDS: dict[str, type[Observation]] = {
    c.kind: c for c in (StandCount, SpacingRun, Depth, Load, Weighing, Sample, Event, WeatherDay)
}

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
    stand_counts, spacing_runs, depths, loads, weighings, samples, events, weather : tuple
        Records of each kind in the order they were stored.
    """

    stand_counts: tuple[StandCount, ...] = ()
    spacing_runs: tuple[SpacingRun, ...] = ()
    depths: tuple[Depth, ...] = ()
    loads: tuple[Load, ...] = ()
    weighings: tuple[Weighing, ...] = ()
    samples: tuple[Sample, ...] = ()
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
