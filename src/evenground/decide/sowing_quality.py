"""What the planter and the seed-bed made of the settings: from the trial's own runs and counts, else assumed."""

from __future__ import annotations

import statistics
from dataclasses import dataclass

from evenground.basis.method import Method
from evenground.sowing.stand_simulation import ASSUMED, SowingQuality
from evenground.stand.summary import StandSummary

# As even as strewn within the class of gaps spaced right; `SowingQuality` takes no more.
WORST_PRECISION, MOST_MISSES = 0.28, 0.5


@dataclass(frozen=True)
class QualityFound:
    """Spread, misses, doubles and emergence of one method, and where they come from.

    Attributes
    ----------
    method : str
        Which.
    quality : SowingQuality
        For `evenground.sowing.stand_simulation.simulate_stand`.
    runs : int
        Strips whose spacing runs it rests on [1]; 0 where everything but the emergence is assumed.
    words : str
        Where the figures come from.
    """

    method: str
    quality: SowingQuality
    runs: int
    words: str


def sowing_quality(found: StandSummary, method: Method) -> QualityFound:
    """Say with which precision, misses, doubles and emergence a stand of this method is simulated.

    Where spacing runs were measured, the places without a plant in them count as misses, whatever emptied them, and
    the emergence is taken as 1, so that a seed that did not come up is not counted twice.

    Parameters
    ----------
    found : StandSummary
        All that is known about the stand.
    method : Method
        Its expected emergence stands in where nothing was counted.
    """
    runs = [s.spacing for s in found.spacings if s.method == method.letter]
    places = [r.by_places for r in runs if r.by_places is not None]
    if not places:
        return _assumed(found, method)
    precisions = [r.precision for r in runs if r.precision is not None]
    precision = min(statistics.fmean(precisions), WORST_PRECISION) if precisions else ASSUMED.precision
    misses = min(statistics.fmean(p.misses for p in places), MOST_MISSES)
    doubles = min(statistics.fmean(p.multiples for p in places), MOST_MISSES)
    quality = SowingQuality(precision, misses, doubles, ASSUMED.lateral_sd_m, 1.0)
    spread = f"precision {100 * precision:.0f} %{'' if precisions else ' (assumed)'}"
    words = (
        f"{method.letter}: {spread}, {100 * misses:.0f} % of the places without a plant, {100 * doubles:.0f} % with "
        f"two, as measured in {len(runs)} {'strip' if len(runs) == 1 else 'strips'}"
    )
    return QualityFound(method.letter, quality, len(runs), words)


def _assumed(found: StandSummary, method: Method) -> QualityFound:
    counted = next((m.emergence_fraction for m in found.stand.methods if m.method == method.letter), None)
    emerged = method.expected_emergence_fraction if counted is None else min(max(counted, 0.05), 1.0)
    q = SowingQuality(emergence_fraction=emerged)
    words = (
        f"{method.letter}: precision {100 * q.precision:.0f} %, misses {100 * q.miss_share:.0f} %, doubles "
        f"{100 * q.double_share:.0f} % are assumed (common practice, no source), as no spacing run was measured; "
        f"emergence {100 * emerged:.0f} % {'as planned' if counted is None else 'as counted'}"
    )
    return QualityFound(method.letter, q, 0, words)
