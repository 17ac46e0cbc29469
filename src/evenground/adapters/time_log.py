"""A planter's log as a terminal writes it: time log of ISO 11783-10, header in XML, records in a file beside."""

from __future__ import annotations

import struct
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from evenground.adapters.time_log_files import LogHeader, element_kinds, log_header, time_log_files
from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.method import Machine
from evenground.basis.observations import FASTEST_KM_PER_H
from evenground.sowing.as_sown import PlanterLog

Floats = NDArray[np.float64]

MOST_PROBLEMS = 10
FIRST_DAY = datetime(1980, 1, 1)
MS_PER_DAY = 86_400_000
DEGREE = 1e-7
"""Positions are logged in steps so small [deg]."""
NO_FIX = frozenset({0, 14, 15})
"""Kinds of fix that give no place: none, error, not told."""
WORK_STATE, COUNT_PER_M2, SPEED = 141, 12, 397
CONDENSED = range(161, 177)
"""Work states of sixteen sections each."""
ON, NOT_INSTALLED = 1, 3
COUNT_STEP, SPEED_STEP = 1e-3, 1e-3
SECTION_KINDS = frozenset({4, 5})
"""Device elements that are a section or a unit, not the whole planter."""


@dataclass
class _Rows:
    """Readings of one time log, as they come."""

    seconds: list[float] = field(default_factory=list)
    lat: list[float] = field(default_factory=list)
    lon: list[float] = field(default_factory=list)
    speed: list[float] = field(default_factory=list)
    off_share: list[float] = field(default_factory=list)
    count: list[float] = field(default_factory=list)


def read_time_log(path: Path, method: str, machine: Machine) -> PlanterLog:
    """Read what a terminal logged of a planter: place, speed, sections off, seeds/m2.

    Parameters
    ----------
    path : Path
        See `time_log_files`.
    method : str
        Letter of the method the planter sowed.
    machine : Machine
        The planter; its rows are shared out evenly over the sections of the log.

    Raises
    ------
    InputError
        With every problem found: half a log, XML with a document type or entities, a record that says what the header
        does not know, places that are not on earth, speeds no planter drives while sowing, time that runs back, two
        logs of the same time.

    Notes
    -----
    The clock is the terminal's. Readings without a place are left out; so is a last record that was cut off. Without a
    speed in the log it is the way between the readings. Sources and what was not found in one: docs/isoxml.md.
    """
    files = time_log_files(path)
    kinds = element_kinds(files["TASKDATA.XML"]) if "TASKDATA.XML" in files else {}
    parts, notes = list[tuple[str, _Rows]](), list[str]()
    for records in (name for name in files if name.endswith(".BIN")):
        header = log_header(records[:-4] + ".XML", files[records[:-4] + ".XML"])
        part, cut = _read(header, files[records], kinds, records)
        if cut:
            notes.append(f"The last record of {records} is cut off and left out.")
        if part.seconds:
            parts.append((records, part))
    parts.sort(key=lambda named: named[1].seconds[0])
    faults = [
        problem("two logs are of the same time.", file=b, given=a, allowed="one of them, named with --log")
        for (a, first), (b, then) in pairwise(parts)
        if then.seconds[0] < first.seconds[-1]
    ]
    if sum(len(part.seconds) for _, part in parts) < 2:
        message = "a log needs two readings with a place or more."
        faults = [problem(message, file=path.name, allowed="one record a reading")]
    if faults:
        raise InputError(faults)
    return _joined([part for _, part in parts], method, machine, tuple(notes))


def _joined(parts: Sequence[_Rows], method: str, machine: Machine, notes: tuple[str, ...]) -> PlanterLog:
    def column(name: str) -> Floats:
        return np.array([value for part in parts for value in getattr(part, name)])

    seconds, lon, lat = column("seconds"), column("lon"), column("lat")
    speed, off = column("speed"), column("off_share")
    if np.isnan(speed).any():
        speed = np.where(np.isnan(speed), speed_by_places(seconds, lon, lat), speed)
    count = column("count")
    return PlanterLog(
        method,
        machine.rows,
        machine.working_width_m,
        seconds - seconds[0],
        lon,
        lat,
        speed,
        machine.rows * off,
        FIRST_DAY + timedelta(seconds=float(seconds[0])),
        None if np.isnan(count).all() else count,
        notes,
    )


def speed_by_places(seconds: Floats, lon: Floats, lat: Floats) -> Floats:
    """Return the speed from reading to reading; that of the last is the one before it [m/s].

    Parameters
    ----------
    seconds : ndarray, shape (n,)
        Time, rising [s].
    lon, lat : ndarray, shape (n,)
        Places, WGS84 [deg].

    Source: definition of speed; a degree of latitude is 111 320 m on the sphere of WGS84's equator.
    """
    north = 111_320.0 * np.diff(lat)
    east = 111_320.0 * np.cos(np.radians(lat[:-1])) * np.diff(lon)
    time = np.diff(seconds)
    each = np.divide(np.hypot(north, east), time, out=np.zeros_like(time), where=time > 0.0)
    return np.append(each, each[-1:])


def _read(header: LogHeader, data: bytes, kinds: Mapping[str, int], file: str) -> tuple[_Rows, bool]:
    """Read all records; say whether the last was cut off."""
    rows, problems = _Rows(), list[Problem]()
    state = _State(header, kinds)
    at, number, before = 0, 0, -1.0
    while at < len(data) and len(problems) < MOST_PROBLEMS:
        number += 1
        if at + header.layout.size > len(data):
            return _checked(rows, problems), True
        ms, day, *logged, values = header.layout.unpack_from(data, at)
        at += header.layout.size
        if at + 5 * values > len(data):
            return _checked(rows, problems), True
        faults = state.take(struct.iter_unpack("<Bi", data[at : at + 5 * values]))
        at += 5 * values
        place = {**header.fixed, **dict(zip(header.names, logged, strict=True))}
        lat, lon = (place[n] * (DEGREE if n in header.names else 1.0) for n in ("A", "B"))
        seconds = day * 86_400.0 + ms / 1000.0
        faults += _faults(ms, lat, lon, state, seconds < before)
        problems += [problem(m, file=file, row=number, field=f, given=g, allowed=a) for m, f, g, a in faults]
        before = seconds
        if place.get("D") not in NO_FIX:
            for column, value in zip(
                (rows.seconds, rows.lat, rows.lon, rows.speed, rows.off_share, rows.count),
                (seconds, lat, lon, state.speed, state.off_share, state.count),
                strict=True,
            ):
                column.append(value)
    return _checked(rows, problems), False


def _checked(rows: _Rows, problems: list[Problem]) -> _Rows:
    if problems:
        raise InputError(problems)
    return rows


def _faults(ms: int, lat: float, lon: float, state: _State, back: bool) -> list[tuple[str, str, str, str]]:
    """List what cannot be in one record: message, field, given, allowed."""
    faults = []
    if ms >= MS_PER_DAY:
        faults.append(("a day is not so long.", "time of day [ms]", f"{ms}", f"below {MS_PER_DAY}"))
    if back:
        faults.append(("the time runs back here.", "time", "earlier than before", "the same or later"))
    if not (abs(lat) <= 90.0 and abs(lon) <= 180.0):
        faults.append(("this place is not on earth.", "PTN", f"{lat:.7f}, {lon:.7f}", "90 degrees north, 180 east"))
    if state.off_share < 1.0 and state.speed > FASTEST_KM_PER_H / 3.6:
        given = f"{3.6 * state.speed:.1f} km/h"
        faults.append(("no planter sows so fast.", "DDI 397", given, f"at most {FASTEST_KM_PER_H:g} km/h"))
    return faults


class _State:
    """What the values logged so far say; each holds until it is logged again."""

    def __init__(self, header: LogHeader, kinds: Mapping[str, int]) -> None:
        self.header = header
        self.now: dict[int, int] = {}
        states = [i for i, (ddi, _) in enumerate(header.values) if ddi == WORK_STATE]
        self.condensed = [i for i, (ddi, _) in enumerate(header.values) if ddi in CONDENSED]
        self.sections = [i for i in states if kinds.get(header.values[i][1]) in SECTION_KINDS]
        self.masters = [i for i in states if i not in self.sections]
        if len(self.masters) > 1 and not kinds:
            message = "several parts of the planter log whether they work, and nothing says which part is a section."
            allowed = "TASKDATA.XML of the same terminal beside the log"
            raise InputError([problem(message, file=header.file, field="DLV", given=len(states), allowed=allowed)])
        self.counts = [i for i, (ddi, _) in enumerate(header.values) if ddi == COUNT_PER_M2]
        self.speeds = [i for i, (ddi, _) in enumerate(header.values) if ddi == SPEED]

    def take(self, logged: Iterable[tuple[int, ...]]) -> list[tuple[str, str, str, str]]:
        """Take the values of one record; return what cannot be in it."""
        faults = []
        for index, value in logged:
            if index >= len(self.header.values):
                allowed = f"0 to {len(self.header.values) - 1}" if self.header.values else "no value"
                faults.append(("the header does not know this value.", "DLV", f"{index}", allowed))
            self.now[index] = value
        return faults

    @property
    def speed(self) -> float:
        """Driving speed [m/s]; NaN where it was not logged."""
        return next((abs(self.now[i]) * SPEED_STEP for i in self.speeds if i in self.now), float("nan"))

    @property
    def count(self) -> float:
        """Seeds dropped per area, the mean over all parts that say it [1/m2]; NaN where none does."""
        said = [self.now[i] * COUNT_STEP for i in self.counts if i in self.now]
        return sum(said) / len(said) if said else float("nan")

    @property
    def off_share(self) -> float:
        """Share of the sections that do not sow, 0 where nothing is logged about that [1]."""
        if any(self.now.get(i, 0) != ON for i in self.masters):
            return 1.0
        parts = [self.now.get(i, 0) for i in self.sections]
        for i in self.condensed:
            word = self.now.get(i, 0) & 0xFFFFFFFF
            parts += [word >> 2 * k & 3 for k in range(16)]
        installed = [part for part in parts if part != NOT_INSTALLED]
        if not parts:
            return 0.0
        return sum(part != ON for part in installed) / len(installed) if installed else 1.0
