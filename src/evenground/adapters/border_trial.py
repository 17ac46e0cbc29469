"""A border as the files of a trial folder tell it, for trials whose strips were never drawn."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from evenground.adapters.border_areas import AREAS_FILE
from evenground.adapters.border_file import BORDER_FILE, SOWN_FILE, read_border_folder, said_style
from evenground.adapters.earlier_yields import EARLIER_YIELDS_FILE, read_earlier_yields
from evenground.adapters.geojson import FIELD_FILE
from evenground.adapters.reading import read_bytes
from evenground.basis.errors import CannotCompareError
from evenground.basis.store import Stored
from evenground.fairness.border import BorderAnswer, border_comparison
from evenground.fairness.border_setting import Known, Planned, planned, setting_of
from evenground.fairness.border_sides import sides_of

BORDER_FILES = (BORDER_FILE, AREAS_FILE, SOWN_FILE, EARLIER_YIELDS_FILE, FIELD_FILE)
"""What a border is read from besides plan and records."""


@dataclass(frozen=True)
class BorderTold:
    """The comparison at a border, and how its files were read.

    Attributes
    ----------
    answer : BorderAnswer
        What can be said.
    notes : tuple of str
        How the files were read.
    files : mapping of str to str
        The files it was read from, and their sha256 (hex).
    """

    answer: BorderAnswer
    notes: tuple[str, ...]
    files: Mapping[str, str]


def border_hashes(folder: Path) -> dict[str, str]:
    """Return the sha256 (hex) of each file that a border is read from, byte for byte.

    Parameters
    ----------
    folder : Path
        The trial folder, or a table alone.

    Raises
    ------
    InputError
        If one cannot be read.
    """
    if folder.is_dir():
        there = {name: folder / name for name in BORDER_FILES if (folder / name).is_file()}
    else:
        there = {folder.name: folder}
    return {name: hashlib.sha256(read_bytes(path, name)).hexdigest() for name, path in there.items()}


def border_of(folder: Path, stored: Stored) -> BorderTold | None:
    """Compare both sides of a border, where that is all a trial has.

    Parameters
    ----------
    folder : Path
        The trial folder.
    stored : Stored
        The trial; one whose strips were drawn is compared by its strips.

    Returns
    -------
    BorderTold or None
        None where strips were drawn, or where there is no border either.

    Raises
    ------
    CannotCompareError
        If areas are planned and nothing was weighed yet.
    InputError
        With every problem of the files.
    """
    if stored.draw is not None or not any((folder / name).is_file() for name in (BORDER_FILE, AREAS_FILE)):
        return None
    told = border_told(folder, stored)
    if isinstance(told, Planned):
        raise CannotCompareError(
            "two areas are planned side by side and nothing was weighed yet; 'evenground border' says what they could "
            "tell."
        )
    return told


def border_told(folder: Path, stored: Stored) -> BorderTold | Planned:
    """Compare both sides of a border, or say what two planned areas could tell.

    Parameters
    ----------
    folder : Path
        The trial folder.
    stored : Stored
        The trial.

    Raises
    ------
    CannotCompareError
        If there are too few points beside the border.
    InputError
        With every problem of the files.
    """
    style = said_style(folder, EARLIER_YIELDS_FILE).number_style
    read = read_border_folder(folder, stored.field, read_earlier_yields(folder, style))
    known = Known(stored.plan, stored.records.weather, read.sown)
    if read.measured is None:
        return planned(known, read.areas)
    sides = sides_of(read.measured, stored.plan.baseline.letter, read.areas or None)
    setting = setting_of(known, sides.baseline, sides.method, float(sides.value.mean()))
    return BorderTold(border_comparison(sides, setting), read.notes, border_hashes(folder))
