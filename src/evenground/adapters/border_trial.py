"""A border as the files of a trial folder tell it, for trials whose strips were never drawn."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from evenground.adapters.border_areas import AREAS_FILE
from evenground.adapters.border_file import BORDER_FILE, read_border_folder, said_style
from evenground.adapters.earlier_yields import EARLIER_YIELDS_FILE, read_earlier_yields
from evenground.basis.errors import CannotCompareError
from evenground.basis.store import Stored
from evenground.fairness.border import BorderAnswer, border_comparison
from evenground.fairness.border_setting import Known, setting_of
from evenground.fairness.border_sides import sides_of


@dataclass(frozen=True)
class BorderTold:
    """The comparison at a border, and how its files were read.

    Attributes
    ----------
    answer : BorderAnswer
        What can be said.
    notes : tuple of str
        How the files were read.
    """

    answer: BorderAnswer
    notes: tuple[str, ...]


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
    style = said_style(folder, EARLIER_YIELDS_FILE).number_style
    read = read_border_folder(folder, stored.field, read_earlier_yields(folder, style))
    if read.measured is None:
        raise CannotCompareError(
            "two areas are planned side by side and nothing was weighed yet; 'evenground border' says what they could "
            "tell."
        )
    sides = sides_of(read.measured, stored.plan.baseline.letter, read.areas or None)
    known = Known(stored.plan, stored.records.weather, read.sown)
    setting = setting_of(known, sides.baseline, sides.method, float(sides.value.mean()))
    return BorderTold(border_comparison(sides, setting), read.notes)
