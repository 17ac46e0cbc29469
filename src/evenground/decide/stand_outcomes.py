"""What the stand gives the comparison: one value a strip for each side outcome that was measured."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from evenground.compare.values import StripValues
from evenground.stand.summary import StandSummary

Figure = Iterable[tuple[int | None, float | None]]


def stand_outcomes(found: StandSummary) -> dict[str, StripValues]:
    """Return the side outcomes of the stand, by name with unit; outcomes nobody measured are left out.

    Parameters
    ----------
    found : StandSummary
        All that is known about the stand.

    Returns
    -------
    dict of str to StripValues
        One row a measured strip, methods as sown: for `evenground.compare.compare`.
    """
    spacings, depths = found.spacings, found.depths
    figures: Mapping[str, Figure] = {
        "plants/m2": ((s.strip, s.plants_per_m2) for s in found.stand.strips),
        "plants/m2 after the last hoeing": ((s.strip, s.after_last_hoeing) for s in found.stages),
        "late plants [%]": ((s.strip, _percent(s.late_fraction)) for s in found.stages),
        "spaced right [%]": ((s.strip, _percent(s.spacing.by_gaps.quality_of_feed)) for s in spacings),
        "misses [%]": ((s.strip, _percent(s.spacing.by_gaps.misses)) for s in spacings),
        "doubles [%]": ((s.strip, _percent(s.spacing.by_gaps.multiples)) for s in spacings),
        "precision [%]": ((s.strip, _percent(s.spacing.precision)) for s in spacings),
        "depth [cm]": ((d.strip, d.mean_cm) for d in depths),
        "days to half emerged": ((e.strip, e.days_to_half) for e in found.emergence),
    }
    values = {name: _values(found, figure) for name, figure in figures.items()}
    return {name: v for name, v in values.items() if v.strips}


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
