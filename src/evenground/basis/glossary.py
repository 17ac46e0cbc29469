"""The words and names of this program: what each means, its unit, and what the screen says in English and German."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources

# The unit each ending of a name stands for; money is in the trial's own currency.
ENDINGS: dict[str, tuple[str, ...]] = {
    "m": ("m",),
    "cm": ("cm",),
    "mm": ("mm",),
    "m2": ("m2",),
    "ha": ("ha",),
    "kg": ("kg",),
    "g": ("g",),
    "t": ("t",),
    "c": ("deg C",),
    "deg": ("deg",),
    "years": ("a",),
    "percent": ("%",),
    "points": ("%",),
    "fraction": ("1",),
    "per_m2": ("1/m2", "money/m2"),
    "per_ha": ("1/ha", "money/ha"),
    "per_t": ("1/t", "money/t"),
    "per_gj": ("money/GJ",),
    "t_per_ha": ("t/ha",),
    "gj_per_ha": ("GJ/ha",),
    "kg_per_ha": ("kg/ha",),
    "ha_per_year": ("ha/a",),
    "km_per_h": ("km/h",),
    "m3": ("m3",),
    "kg_per_m3": ("kg/m3",),
    "mj_per_kg": ("MJ/kg",),
    "mj_per_m2": ("MJ/m2",),
}


@dataclass(frozen=True, slots=True)
class Entry:
    """One word or name.

    Attributes
    ----------
    name : str
        As it stands in code, files and JSON.
    meaning : str
        What it is.
    unit : str
        Its unit; "1" for a pure number, "" where it is no number.
    english, german : str
        Screen word, where it has one.
    note : str
        What to watch.
    """

    name: str
    meaning: str
    unit: str
    english: str
    german: str
    note: str


@cache
def glossary() -> dict[str, Entry]:
    """Return all entries by name.

    Examples
    --------
    >>> glossary()["cut"].german
    'Kernbeerntung'
    """
    text = resources.files("evenground.basis").joinpath("glossary.csv").read_text(encoding="utf-8")
    return {row["name"]: Entry(**row) for row in csv.DictReader(text.splitlines())}


def ending(name: str) -> str:
    """Return the longest unit ending of a name, or "" if it has none.

    Examples
    --------
    >>> ending("starter_kg_per_ha"), ending("per_ha"), ending("trailer")
    ('kg_per_ha', 'per_ha', '')
    """
    found = [e for e in ENDINGS if name == e or name.endswith("_" + e)]
    return max(found, key=len, default="") if "_" in name else ""
