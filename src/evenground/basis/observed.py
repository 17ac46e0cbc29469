"""What all records of the season share: an id, a time, who saw it, and the strips it belongs to."""

from __future__ import annotations

import re
from datetime import datetime
from typing import Annotated, ClassVar, Self

from pydantic import Field, field_validator, model_validator

from evenground.basis.record import Contradictions, Record

StripNumbers = tuple[Annotated[int, Field(ge=1, le=9999)], ...]
Note = Annotated[str, Field(max_length=600)]


class Observation(Record):
    """What all records share.

    Attributes
    ----------
    id : str
        Made on the device that saw it; the same id sent twice is one record.
    time : datetime
        When it was seen, local time of the farm. An offset (+02:00) is dropped and the clock time kept, so that records
        with and without one can be put in order.
    who : str
        Who saw it.
    lon, lat : float or None
        Where, WGS84 [deg].
    replaces : str or None
        ``id`` of the record this one corrects.
    note : str
        Anything else.
    """

    kind: ClassVar[str] = ""

    id: Annotated[str, Field(min_length=1, max_length=80)]
    time: datetime
    who: Annotated[str, Field(max_length=80)] = ""
    lon: Annotated[float, Field(ge=-180.0, le=180.0)] | None = None
    lat: Annotated[float, Field(ge=-90.0, le=90.0)] | None = None
    replaces: Annotated[str, Field(min_length=1, max_length=80)] | None = None
    note: Note = ""

    @field_validator("time")
    @classmethod
    def _clock_time(cls, value: datetime) -> datetime:
        return value.replace(tzinfo=None)

    @model_validator(mode="after")
    def _not_itself(self) -> Self:
        if self.replaces == self.id:
            message = "a record cannot replace itself; give the correction an id of its own."
            raise Contradictions([("replaces", self.id, "the id of another record", message)])
        return self


class OfStrips(Observation):
    """A record that belongs to one or more strips, written ``7`` or ``7+8``.

    Attributes
    ----------
    strips : tuple of int
        Strip numbers.
    """

    strips: Annotated[StripNumbers, Field(min_length=1)]

    @field_validator("strips", mode="before")
    @classmethod
    def _read_strips(cls, value: object) -> object:
        if isinstance(value, int):
            return (value,)
        if isinstance(value, str):
            parts = [p for p in re.split(r"[+;/ ]+", value.strip()) if p]
            if not parts or not all(p.isdecimal() for p in parts):
                message = "strips are whole numbers, several joined by +."
                raise Contradictions([("", value, "strip numbers such as 7 or 7+8", message)])
            return tuple(int(p) for p in parts)
        return value

    @model_validator(mode="after")
    def _each_once(self) -> Self:
        if len(set(self.strips)) != len(self.strips):
            given = "+".join(str(s) for s in self.strips)
            raise Contradictions([("strips", given, "each strip once", "the same strip is named twice in one record.")])
        return self
