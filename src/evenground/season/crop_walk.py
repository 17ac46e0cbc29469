"""The crop walk: what was scored by strip, walk by walk; root pits to be shown; mineral nitrogen after harvest."""

from __future__ import annotations

import statistics
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from evenground.basis.days import said_day
from evenground.basis.observations import MineralNitrogen, Records, RootPit, Scores, current
from evenground.basis.strip import Draw
from evenground.season.sowings import sowing_days

# Scores of one walk lie no further apart than this: a walk may take two days. Common practice, no source.
DAYS_APART = 1
QUANTITIES = {
    "ground_cover_percent": ("ground cover", "%"),
    "crop_height_cm": ("height of the crop", "cm"),
    "leaf_rolling": ("leaf rolling, score 1 to 9", "score"),
    "lodged_percent": ("lodging", "%"),
    "weeds_percent": ("weeds between the lines", "%"),
}
"""Field of a score to its name and unit; diseases have a name of their own each."""


@dataclass(frozen=True)
class WalkFigure:
    """One thing scored on one walk, by strip.

    Attributes
    ----------
    what, unit : str
        In words.
    first, last : date
        Days of the walk.
    by_strip : mapping of int to float
        Mean of the strip's scores [unit].
    scores, hidden : int
        Scores taken, and how many with the method hidden [1].
    """

    what: str
    unit: str
    first: date
    last: date
    by_strip: Mapping[int, float]
    scores: int
    hidden: int

    @property
    def name(self) -> str:
        """What and when, as it stands in a table."""
        return f"{self.what}, {said_day(self.first)}"


@dataclass(frozen=True)
class Sighting:
    """A picture or a note from one strip.

    Attributes
    ----------
    strip : int
        Where.
    day : date
        When.
    lon, lat : float or None
        Place [deg].
    photo, note : str
        Name of the picture in the trial folder; words.
    said : str
        What was scored with it, in words; it tells whoever cannot see the picture what is on it.
    """

    strip: int
    day: date
    lon: float | None
    lat: float | None
    photo: str
    note: str
    said: str = ""


@dataclass(frozen=True)
class CropWalk:
    """All of the crop walk.

    Attributes
    ----------
    figures : tuple of WalkFigure
        What was scored, in the order of the days.
    nitrogen : tuple of WalkFigure
        Mineral nitrogen of strips with a sample of their own, by layers sampled.
    pits : tuple of RootPit
        Shown, never compared.
    seen : tuple of Sighting
        Pictures and notes.
    notes : tuple of str
        What is weaker than it could be.
    """

    figures: tuple[WalkFigure, ...]
    nitrogen: tuple[WalkFigure, ...]
    pits: tuple[RootPit, ...]
    seen: tuple[Sighting, ...]
    notes: tuple[str, ...]

    @property
    def empty(self) -> bool:
        """Whether nothing was written down at all."""
        return not (self.figures or self.nitrogen or self.pits or self.seen or self.notes)

    def as_dict(self) -> dict[str, Any]:
        """Return the parts of ``walk --json`` that need no comparison."""
        return {
            "figures": [_figure(f) for f in (*self.figures, *self.nitrogen)],
            "root_pits": [
                {
                    "strip": p.strip,
                    "day": p.time.date().isoformat(),
                    "deepest_root_cm": p.deepest_root_cm,
                    "grid_count": p.grid_count,
                    "grid_squares": p.grid_squares,
                    "grid_square_cm": p.grid_square_cm,
                    "photo": p.photo,
                    "note": p.note,
                }
                for p in self.pits
            ],
            "seen": [{**s.__dict__, "day": s.day.isoformat()} for s in self.seen],
            "notes": list(self.notes),
        }


def _figure(one: WalkFigure) -> dict[str, Any]:
    return {
        "what": one.what,
        "unit": one.unit,
        "days": [one.first.isoformat(), one.last.isoformat()],
        "by_strip": {str(strip): value for strip, value in one.by_strip.items()},
        "scores": one.scores,
        "hidden": one.hidden,
    }


def crop_walk(records: Records) -> CropWalk:
    """Gather what was seen on crop walks, strip by strip.

    Parameters
    ----------
    records : Records
        Scores, root pits and mineral nitrogen, corrections included.
    """
    scores = sorted(current(records.scores), key=lambda s: (s.time, s.strip))
    figures = sorted(_figures(scores), key=lambda f: (f.first, f.what))
    samples = current(records.mineral_nitrogen)
    pits = sorted(current(records.root_pits), key=lambda p: (p.strip, p.time))
    return CropWalk(
        figures=tuple(figures),
        nitrogen=_nitrogen(samples),
        pits=tuple(pits),
        seen=tuple(_seen(s) for s in scores if s.photo or s.note),
        notes=(*_open_scores(figures), *_mixed(samples)),
    )


def _figures(scores: Sequence[Scores]) -> list[WalkFigure]:
    """One figure a quantity and walk; each disease is a quantity."""
    out = []
    for name, (what, unit) in QUANTITIES.items():
        out += _walks(what, unit, [(s, float(v)) for s in scores if (v := getattr(s, name)) is not None])
    for disease in sorted({s.disease.casefold() for s in scores if s.diseased_percent is not None}):
        mine = [
            (s, s.diseased_percent)
            for s in scores
            if s.diseased_percent is not None and s.disease.casefold() == disease
        ]
        out += _walks(f"plants with {mine[0][0].disease}", "%", mine)
    return out


def _walks(what: str, unit: str, scored: Sequence[tuple[Scores, float]]) -> list[WalkFigure]:
    """Cut scores into walks where more than a day lies between two of them."""
    walks: list[list[tuple[Scores, float]]] = []
    for one in scored:
        near = walks and one[0].time.date() - walks[-1][-1][0].time.date() <= timedelta(days=DAYS_APART)
        if near:
            walks[-1].append(one)
        else:
            walks.append([one])
    return [_one_walk(what, unit, walk) for walk in walks]


def _one_walk(what: str, unit: str, walk: Sequence[tuple[Scores, float]]) -> WalkFigure:
    values: dict[int, list[float]] = defaultdict(list)
    for score, value in walk:
        values[score.strip].append(value)
    means = {strip: statistics.fmean(found) for strip, found in sorted(values.items())}
    days = [score.time.date() for score, _ in walk]
    return WalkFigure(what, unit, min(days), max(days), means, len(walk), sum(s.hidden for s, _ in walk))


def _nitrogen(samples: Iterable[MineralNitrogen]) -> tuple[WalkFigure, ...]:
    """Sum the layers of strips that have samples of their own; strips with the same layers stand in one figure."""
    layers: dict[int, dict[tuple[float, float], list[float]]] = defaultdict(lambda: defaultdict(list))
    days: dict[int, list[date]] = defaultdict(list)
    for sample in samples:
        if len(sample.strips) == 1:
            strip = sample.strips[0]
            layers[strip][(sample.from_cm, sample.to_cm)].append(sample.mineral_n_kg_per_ha)
            days[strip].append(sample.time.date())
    alike: dict[tuple[tuple[float, float], ...], list[int]] = defaultdict(list)
    for strip, found in sorted(layers.items()):
        alike[tuple(sorted(found))].append(strip)
    out = []
    for depths, strips in alike.items():
        totals = {s: sum(statistics.fmean(v) for v in layers[s].values()) for s in strips}
        taken = [day for s in strips for day in days[s]]
        what = f"mineral nitrogen in {_layers_text(depths)} cm"
        out.append(WalkFigure(what, "kg/ha", min(taken), max(taken), totals, len(taken), 0))
    return tuple(out)


def _layers_text(layers: Sequence[tuple[float, float]]) -> str:
    """Name layers; those that follow on each other are one.

    Examples
    --------
    >>> _layers_text([(0.0, 30.0), (30.0, 60.0)]), _layers_text([(0.0, 30.0), (60.0, 90.0)])
    ('0 to 60', '0 to 30 and 60 to 90')
    """
    joined: list[tuple[float, float]] = []
    for low, high in layers:
        if joined and joined[-1][1] == low:
            joined[-1] = (joined[-1][0], high)
        else:
            joined.append((low, high))
    return " and ".join(f"{low:g} to {high:g}" for low, high in joined)


def _mixed(samples: Iterable[MineralNitrogen]) -> tuple[str, ...]:
    mixed = [s for s in samples if len(s.strips) > 1]
    if not mixed:
        return ()
    return (
        f"mineral nitrogen: {len(mixed)} {'sample' if len(mixed) == 1 else 'samples'} mixed over several strips "
        "cannot be compared; only strips with a sample of their own count",
    )


def _open_scores(figures: Iterable[WalkFigure]) -> tuple[str, ...]:
    """Say how many scores were taken by somebody who could know the method, or about whom nothing is said."""
    open_ones = [f for f in figures if f.hidden < f.scores]
    return tuple(
        f"{f.name}: {f.scores - f.hidden} of {f.scores} scores were not taken with the method hidden; whoever knows "
        "it can move a score without wanting to"
        for f in open_ones
    )


def _seen(score: Scores) -> Sighting:
    return Sighting(score.strip, score.time.date(), score.lon, score.lat, score.photo, score.note, _said(score))


def _said(score: Scores) -> str:
    """Put the scores of one strip into words."""
    parts = []
    for name, (what, unit) in QUANTITIES.items():
        value = getattr(score, name)
        if value is not None:
            parts.append(f"{what.split(',')[0]} {value:g}" + ("" if unit == "score" else f" {unit}"))
    if score.disease:
        share = "" if score.diseased_percent is None else f" on {score.diseased_percent:g} % of the plants"
        parts.append(f"{score.disease}{share}")
    return ", ".join(parts)


def covers_of(draw: Draw, records: Records) -> dict[str, dict[date, float]]:
    """Return the ground cover scored in the field: method as sown to day to the mean over its strips [1].

    Parameters
    ----------
    draw : Draw
        The strips.
    records : Records
        Scores and sowing.

    Returns
    -------
    dict
        Only walks on which every method was scored, so that no method's water rests on the tables and another's on
        scores of the same day; the day is the walk's first.
    """
    sown = {strip: method for strip, (method, _) in sowing_days(draw, records.events).items()}
    out: dict[str, dict[date, float]] = {}
    for figure in crop_walk(records).figures:
        if figure.what != QUANTITIES["ground_cover_percent"][0]:
            continue
        values: dict[str, list[float]] = defaultdict(list)
        for strip, percent in figure.by_strip.items():
            if strip in sown:
                values[sown[strip]].append(percent / 100.0)
        if set(values) == set(sown.values()):
            for method, found in values.items():
                out.setdefault(method, {})[figure.first] = statistics.fmean(found)
    return out
