"""What the stand gives the comparison: one value a strip and side outcome, and the methods held against each other."""

from __future__ import annotations

from collections.abc import Iterable

from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.compare.values import StripValues
from evenground.decide.feed_outcomes import Named
from evenground.decide.side_comparison import SideResult, side_results
from evenground.stand.summary import StandSummary

Figure = Iterable[tuple[int | None, float | None]]


def stand_outcomes(found: StandSummary) -> tuple[Named, ...]:
    """Return the side outcomes of the stand; outcomes nobody measured are left out.

    Parameters
    ----------
    found : StandSummary
        All that is known about the stand.

    Returns
    -------
    tuple of (str, str, StripValues)
        Name, unit and one row a measured strip, methods as sown: for `evenground.compare.compare`.
    """
    spacings, depths, rooms = found.spacings, found.depths, [(s.strip, s.space) for s in found.spacings if s.space]
    lost = [(s.strip, sum(s.lost_per_m2.values())) for s in found.stages]
    figures: tuple[tuple[str, str, Figure], ...] = (
        ("plants", "per m2", ((s.strip, s.plants_per_m2) for s in found.stand.strips)),
        ("plants after the last hoeing", "per m2", ((s.strip, s.after_last_hoeing) for s in found.stages)),
        ("late plants", "%", ((s.strip, _percent(s.late_fraction)) for s in found.stages)),
        ("plants lost", "per m2", lost if any(density for _, density in lost) else ()),
        ("spaced right", "%", ((s.strip, _percent(s.spacing.by_gaps.quality_of_feed)) for s in spacings)),
        ("misses", "%", ((s.strip, _percent(s.spacing.by_gaps.misses)) for s in spacings)),
        ("doubles", "%", ((s.strip, _percent(s.spacing.by_gaps.multiples)) for s in spacings)),
        ("precision", "%", ((s.strip, _percent(s.spacing.precision)) for s in spacings)),
        ("distance to the nearest plant", "cm", ((strip, 100.0 * room.nearest_m) for strip, room in rooms)),
        ("spread of land per plant", "%", ((strip, _percent(room.area_cv)) for strip, room in rooms)),
        ("depth", "cm", ((d.strip, d.mean_cm) for d in depths)),
        ("time to half emerged", "days", ((e.strip, e.days_to_half) for e in found.emergence)),
    )
    named = ((name, unit, _values(found, figure)) for name, unit, figure in figures)
    return tuple(one for one in named if one[2].strips)


def stand_compared(found: StandSummary, plan: Plan, draw: Draw) -> tuple[SideResult, ...]:
    """Hold every method's stand against the baseline's, the strip as the unit; what cannot be compared is left out.

    Parameters
    ----------
    found : StandSummary
        All that is known about the stand.
    plan : Plan
        Baseline and level.
    draw : Draw
        How the methods were dealt out.
    """
    return side_results(stand_outcomes(found), plan, draw)


def _percent(fraction: float | None) -> float | None:
    return None if fraction is None else 100.0 * fraction


def _values(found: StandSummary, figure: Figure) -> StripValues:
    measured = {strip: value for strip, value in figure if strip is not None and value is not None}
    strips = [s for s in found.stand.strips if s.strip in measured]
    return StripValues(
        tuple(str(s.strip) for s in strips),
        tuple(s.method for s in strips),
        tuple(str(s.block) for s in strips),
        tuple(measured[s.strip] for s in strips),
    )
