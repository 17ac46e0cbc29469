"""From the harvest to what the comparison takes in: one value a strip, and the errors that several strips share."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping

from evenground.compare.values import SharedError, StripValues
from evenground.harvest.feed_values import NAMES
from evenground.harvest.harvested import StripHarvest
from evenground.harvest.outcome import M2_PER_HA
from evenground.harvest.strips import Harvest, SharedFigure
from evenground.stand.plants import Stand

# Strips weighed together, with their value for the comparison.
Rows = list[tuple[tuple[StripHarvest, ...], float]]


def as_strip_values(harvest: Harvest) -> StripValues:
    """Return the main outcome of every weighed strip, methods as sown, shared errors included.

    Strips that were weighed together are one row, named ``7+8``.

    Parameters
    ----------
    harvest : Harvest
        What came off.

    Returns
    -------
    StripValues
        In the order of the strips [unit of the harvest].

    Source: propagation of errors to first order; mass, dry matter and content are factors of the outcome.
    """
    rows = rows_of(harvest, lambda s: s.outcome)
    grown = {s.strip: s.outcome for s in harvest.strips if s.outcome is not None}
    figures, added = shared_errors(harvest, rows, grown)
    return values_of(rows, (*figures, *_contents(harvest, rows), *added))


def shared_errors(
    harvest: Harvest, rows: Rows, grown: Mapping[int, float]
) -> tuple[tuple[SharedError, ...], tuple[SharedError, ...]]:
    """Return what dry-matter figures and errors of mass or ground that strips share do to anything grown a hectare.

    Parameters
    ----------
    harvest : Harvest
        What came off.
    rows : Rows
        Strips weighed together, with their value.
    grown : mapping
        Strip to what it gave a hectare: dry matter, starch or energy [unit of the rows].

    Source: propagation of errors to first order; an error of mass, ground or dry matter is the same share of all that
    is reckoned from them.
    """
    strips = {s.strip: s for s in harvest.strips}
    figures = tuple(_shared(figure, strips, rows, grown) for figure in harvest.shared)
    added = tuple(
        over_rows(
            rows,
            {
                n: size * grown.get(n, 0.0) / (strips[n].outcome or math.inf)
                for n, size in zip(e.strips, e.effects, strict=True)
            },
            e.label,
            one_figure=False,
        )
        for e in harvest.common
    )
    return figures, added


def rows_of(harvest: Harvest, value_of: Callable[[StripHarvest], float | None]) -> Rows:
    """Gather strips that were weighed together; their value is the mean over their ground.

    Parameters
    ----------
    harvest : Harvest
        What came off.
    value_of : callable
        Value of one strip, None where it has none.
    """
    by_number = {s.strip: s for s in harvest.strips}
    out: Rows = []
    for strip in harvest.strips:
        unit = tuple(by_number[n] for n in sorted((strip.strip, *strip.weighed_with)))
        values = [value_of(s) for s in unit]
        if unit[0] is strip and all(v is not None for v in values):
            area = sum(s.cut_area_m2 for s in unit)
            out.append((unit, sum((v or 0.0) * s.cut_area_m2 / area for v, s in zip(values, unit, strict=True))))
    return out


def _name(unit: Iterable[StripHarvest]) -> str:
    return "+".join(str(s.strip) for s in unit)


def values_of(rows: Rows, shared: tuple[SharedError, ...] = ()) -> StripValues:
    """Return rows as the comparison takes them in; errors left with one row are its own and drop out.

    Parameters
    ----------
    rows : Rows
        Strips weighed together, with their value.
    shared : tuple of SharedError
        Errors in common, by row.
    """
    return StripValues(
        tuple(_name(unit) for unit, _ in rows),
        tuple(unit[0].method for unit, _ in rows),
        tuple(str(unit[0].block) for unit, _ in rows),
        tuple(value for _, value in rows),
        tuple(e for e in shared if len(e.strips) > 1),
    )


def over_rows(rows: Rows, effects: Mapping[int, float], label: str, *, one_figure: bool) -> SharedError:
    """Turn effects on strips into effects on rows: the mean over the ground of those weighed together.

    Parameters
    ----------
    rows : Rows
        Strips weighed together, with their value.
    effects : mapping
        Strip to what one standard deviation does to it [unit of the values].
    label : str
        What the error is.
    one_figure : bool
        Whether the strips rest on one measured figure.
    """
    found: dict[str, float] = {}
    for unit, _ in rows:
        if any(s.strip in effects for s in unit):
            area = sum(s.cut_area_m2 for s in unit)
            found[_name(unit)] = sum(effects.get(s.strip, 0.0) * s.cut_area_m2 / area for s in unit)
    return SharedError(tuple(found), tuple(found.values()), label, one_figure)


def yield_values(harvest: Harvest) -> StripValues:
    """Return the product's yield of every weighed strip, whatever the outcome is [t/ha].

    Parameters
    ----------
    harvest : Harvest
        What came off.
    """
    rows = rows_of(harvest, lambda s: s.yield_t_per_ha)
    grown = {s.strip: s.yield_t_per_ha for s in harvest.strips if s.yield_t_per_ha is not None}
    figures, added = shared_errors(harvest, rows, grown)
    return values_of(rows, (*figures, *added))


def _shared(
    figure: SharedFigure, strips: Mapping[int, StripHarvest], rows: Rows, grown: Mapping[int, float]
) -> SharedError:
    effects = {
        n: grown.get(n, 0.0) * figure.sd_fraction / (strips[n].dry_matter_fraction or math.inf) for n in figure.strips
    }
    names = ", ".join(str(n) for n in figure.strips)
    return over_rows(rows, effects, f"one dry-matter figure for strips {names}", one_figure=True)


def _contents(harvest: Harvest, rows: Rows) -> list[SharedError]:
    """Return the errors of laboratory values that serve more than one strip of the main outcome."""
    value = harvest.counted.value
    if value is None:
        return []
    there = {s.strip: s for unit, _ in rows for s in unit}
    out = []
    for group, sd in zip(value.shared, value.shared_sds, strict=True):
        effects = {n: _in_proportion(there[n], sd, value.by_strip[n]) for n in group if n in there}
        names = ", ".join(str(n) for n in effects)
        label = f"one laboratory value of {NAMES[value.quantity][0]} for strips {names}"
        out.append(over_rows(rows, effects, label, one_figure=True))
    return out


def _in_proportion(strip: StripHarvest, sd: float, value: float | None) -> float:
    """Say what one standard deviation of a factor of the outcome does to it [unit of the harvest]."""
    return 0.0 if strip.outcome is None or not value else strip.outcome * sd / value


def fresh_values(harvest: Harvest) -> StripValues:
    """Return fresh mass per hectare of every weighed strip [t/ha]."""
    return values_of(rows_of(harvest, lambda s: _standing(s, s.fresh_t, s.cut_area_m2 / M2_PER_HA)))


def _standing(strip: StripHarvest, value: float | None, per: float = 1.0) -> float | None:
    """Return a value of a strip that was neither lost nor unsown nor harvested as another product."""
    return None if value is None or strip.state in ("lost", "not_sown", "other_product") else value / per


def dry_matter_values(harvest: Harvest) -> StripValues:
    """Return dry matter of every sampled strip [%], with the sampling error where a figure is shared."""
    rows = rows_of(harvest, lambda s: _standing(s, s.dry_matter_fraction, 0.01))
    there = {s.strip for unit, _ in rows for s in unit}
    shared = [
        over_rows(rows, dict.fromkeys(f.strips, 100.0 * f.sd_fraction), "one dry-matter figure", one_figure=True)
        for f in harvest.shared
        if there.issuperset(f.strips)
    ]
    return values_of(rows, tuple(shared))


def cut_plant_values(harvest: Harvest) -> tuple[tuple[str, str, StripValues], ...]:
    """Return what plants cut by hand show: name, unit and values of every strip that stood at harvest.

    Parameters
    ----------
    harvest : Harvest
        Methods and blocks of the strips, and what was found on them.
    """
    out = []
    for figure in harvest.cut_plants:
        there = [s for s in harvest.strips if s.strip in figure.by_strip and s.state not in ("lost", "not_sown")]
        values = StripValues(
            tuple(str(s.strip) for s in there),
            tuple(s.method for s in there),
            tuple(str(s.block) for s in there),
            tuple(figure.by_strip[s.strip] for s in there),
        )
        out.append((figure.name, figure.unit, values))
    return tuple(out)


def stand_values(stand: Stand) -> StripValues:
    """Return counted plants of every counted strip [1/m2]."""
    counted = [s for s in stand.strips if s.plants_per_m2 is not None]
    return StripValues(
        tuple(str(s.strip) for s in counted),
        tuple(s.method for s in counted),
        tuple(str(s.block) for s in counted),
        tuple(s.plants_per_m2 or 0.0 for s in counted),
    )
