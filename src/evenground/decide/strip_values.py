"""From the harvest to what the comparison takes in: one value a strip, and the errors that several strips share."""

from __future__ import annotations

from evenground.basis.plan import OutcomeSection
from evenground.compare.values import SharedError, StripValues
from evenground.harvest.outcome import outcome_t_per_ha
from evenground.harvest.strips import Harvest, SharedFigure, StripHarvest
from evenground.stand.plants import Stand


def as_strip_values(harvest: Harvest, outcome: OutcomeSection) -> StripValues:
    """Return the main outcome of every weighed strip, methods as sown, shared dry-matter errors included.

    Parameters
    ----------
    harvest : Harvest
        What came off.
    outcome : OutcomeSection
        Silage or grain: what one standard deviation of a dry-matter figure does to the outcome depends on it.

    Returns
    -------
    StripValues
        In the order of the strips [t/ha of the outcome].
    """
    weighed = [s for s in harvest.strips if s.outcome is not None]
    shared = tuple(_shared(figure, harvest, outcome) for figure in harvest.shared)
    return _values([(s.strip, s.method, s.block, s.outcome or 0.0) for s in weighed], shared)


def _values(rows: list[tuple[int, str, int, float]], shared: tuple[SharedError, ...] = ()) -> StripValues:
    return StripValues(
        tuple(str(strip) for strip, _, _, _ in rows),
        tuple(method for _, method, _, _ in rows),
        tuple(str(block) for _, _, block, _ in rows),
        tuple(value for _, _, _, value in rows),
        shared,
    )


def _shared(figure: SharedFigure, harvest: Harvest, outcome: OutcomeSection) -> SharedError:
    strips = {s.strip: s for s in harvest.strips}
    effects = tuple(_effect(strips[n], figure.sd_fraction, outcome) for n in figure.strips)
    names = tuple(str(n) for n in figure.strips)
    return SharedError(names, effects, f"one dry-matter figure for strips {', '.join(names)}")


def _effect(strip: StripHarvest, sd_fraction: float, outcome: OutcomeSection) -> float:
    """Say what one standard deviation of its dry matter does to a strip's outcome [t/ha]; it is linear."""
    if strip.fresh_t is None:
        return 0.0
    return outcome_t_per_ha(strip.fresh_t, sd_fraction, strip.cut_area_m2, outcome)


def fresh_values(harvest: Harvest) -> StripValues:
    """Return fresh mass per hectare of every weighed strip [t/ha]."""
    weighed = [s for s in harvest.strips if s.fresh_t is not None and s.state not in ("lost", "not_sown")]
    rows = [(s.strip, s.method, s.block, (s.fresh_t or 0.0) / (s.cut_area_m2 / 10_000.0)) for s in weighed]
    return _values(rows)


def dry_matter_values(harvest: Harvest) -> StripValues:
    """Return dry matter of every sampled strip [%], with the sampling error where a figure is shared."""
    sampled = [s for s in harvest.strips if s.dry_matter_fraction is not None and s.state not in ("lost", "not_sown")]
    numbers = {s.strip for s in sampled}
    shared = tuple(
        SharedError(tuple(map(str, f.strips)), (100.0 * f.sd_fraction,) * len(f.strips), "one dry-matter figure")
        for f in harvest.shared
        if numbers.issuperset(f.strips)
    )
    return _values([(s.strip, s.method, s.block, 100.0 * (s.dry_matter_fraction or 0.0)) for s in sampled], shared)


def stand_values(stand: Stand) -> StripValues:
    """Return counted plants of every counted strip [1/m2]."""
    counted = [s for s in stand.strips if s.plants_per_m2 is not None]
    return _values([(s.strip, s.method, s.block, s.plants_per_m2 or 0.0) for s in counted])
