"""Published trials as strip values, each with its source."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import numpy as np

from evenground.compare.values import StripValues

CASES = Path(__file__).parents[1] / "cases"
REFERENCE: dict[str, Any] = json.loads((CASES / "r" / "mixed_models.json").read_text())

# C. Darwin, Effects of Cross and Self Fertilisation (1876) p. 16; heights in inches, cross then self, 15 pairs.
DARWIN = (
    ("23.5 12 21 22 19.125 21.5 22.125 20.375 18.25 21.625 23.25 21 22.125 23 12"),
    ("17.375 20.375 20 20 18.375 18.625 18.625 15.25 16.5 18 16.25 18 12.75 15.5 18"),
)
# SAS/STAT User's Guide, PROC ANOVA, Getting Started: three treatments in three blocks.
SAS_BLOCKS = {"A": (32.6, 42.7, 35.3), "B": (36.4, 47.1, 40.1), "C": (29.5, 32.9, 33.6)}
# Student, Biometrika 15 (1923) 271-293: Archer minus Goldthorpe, stones per acre, one pair a farm and year.
STUDENT = (
    "68,39,20,16,8,16,-20,51,-9,-1,-10,23,-5,29,-38,40,41,54,-26,7,27,-11,14,2,18,46,-23,10,-9,6,-20,19,27,25,50,0,-10,"
    "50,31,3,27,47,16,-15,-22,3,22,17,30,-17,16"
)


def read(name: str) -> list[dict[str, str]]:
    """Rows of a data set in tests/cases/data."""
    with (CASES / "data" / name).open(newline="") as file:
        return list(csv.DictReader(file))


def strips(rows: list[tuple[str, str, float]]) -> StripValues:
    """(method, block, outcome) rows as strips numbered from 1."""
    names = tuple(str(i + 1) for i in range(len(rows)))
    return StripValues(names, tuple(r[0] for r in rows), tuple(r[1] for r in rows), tuple(r[2] for r in rows))


def paired(first: list[float], other: list[float], names: tuple[str, str] = ("B", "A")) -> StripValues:
    """Pairs as blocks: ``names[0]`` has ``first``."""
    rows = []
    for i, (x, y) in enumerate(zip(first, other, strict=True), 1):
        rows += [(names[0], str(i), x), (names[1], str(i), y)]
    return strips(rows)


def darwin() -> StripValues:
    cross, own = ([float(x) for x in text.split()] for text in DARWIN)
    return paired(cross, own, ("cross", "self"))


def student() -> StripValues:
    differences = [float(x) for x in STUDENT.split(",")]
    return paired(differences, [0.0] * len(differences), ("Archer", "Goldthorpe"))


def sas_blocks() -> StripValues:
    return strips([(m, str(b), y) for m, values in SAS_BLOCKS.items() for b, y in enumerate(values, 1)])


def sim16(drop: tuple[int, ...] = ()) -> StripValues:
    """The simulated 16 strips of tests/cases/data/sim_16strips.csv, some lost (1-based)."""
    rows = [(r["trt"], r["block"], float(r["yield"])) for r in read("sim_16strips.csv")]
    return strips([r for i, r in enumerate(rows, 1) if i not in drop])


def with_totals(treatments: list[float], blocks: list[float], error_ss: float) -> StripValues:
    """A complete table with given treatment and block totals and error sum of squares; the cells are made here."""
    t, b = np.array(treatments), np.array(blocks)
    table = t[:, None] / len(b) + b[None, :] / len(t) - t.sum() / (len(b) * len(t))
    noise = np.random.default_rng(1).normal(size=table.shape)
    noise -= noise.mean(0) + noise.mean(1)[:, None] - noise.mean()
    table = table + noise * np.sqrt(error_ss / (noise**2).sum())
    return strips([(f"T{i}", str(j), float(table[i, j])) for i in range(len(t)) for j in range(len(b))])
