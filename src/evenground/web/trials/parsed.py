"""Stored texts as values. Each is read once a process: nothing stored is ever changed, so what was read stays true."""

from __future__ import annotations

import functools
import json

from evenground.adapters.geojson import FieldRead, read_field
from evenground.adapters.plan_file import PlanRead, read_plan
from evenground.adapters.strips_file import read_strips
from evenground.basis.canonical import plan_hash
from evenground.basis.errors import InputError
from evenground.basis.observations import RECORD_KINDS, Observation
from evenground.basis.strip import Draw

PLANS_KEPT, FIELDS_KEPT, DRAWS_KEPT, RECORDS_KEPT = 200, 100, 100, 60_000
"""Enough for all trials of an adviser: the page of what is due reads one after the other, and a memory that is a little
too small for that forgets each of them just before it is asked for again."""


@functools.lru_cache(PLANS_KEPT)
def plan_of(text: str) -> PlanRead:
    """Read a plan; what is wrong stands in its ``problems``."""
    return read_plan(text.encode())


@functools.lru_cache(FIELDS_KEPT)
def field_of(text: str) -> FieldRead:
    """Read a field; what is wrong stands in its ``problems``."""
    return read_field(text.encode())


@functools.lru_cache(DRAWS_KEPT)
def draws_of(text: str) -> tuple[Draw, ...]:
    """Read all draws, oldest first."""
    return read_strips(text.encode())[0]


@functools.lru_cache(RECORDS_KEPT)
def record_of(kind: str, text: str) -> Observation:
    """Read a record of a kind."""
    return RECORD_KINDS[kind].model_validate(json.loads(text))


def record_text(record: Observation) -> str:
    """Write a record as its canonical text; values at their default leave no trace."""
    said = record.model_dump(mode="json", exclude_defaults=True)
    return json.dumps(said, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)


def plan_hash_of(text: str) -> str:
    """Return the hash of what a plan's text says.

    Raises
    ------
    InputError
        If it is not a plan.
    """
    read = plan_of(text)
    if read.problems or read.plan is None:
        raise InputError(read.problems)
    return plan_hash(read.plan)
