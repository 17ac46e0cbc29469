"""Fresh mass without a weighbridge: harvester counter, counted trailers, rows cut by hand; each with its error."""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from evenground.basis.observations import MassEstimate, current
from evenground.basis.weighing_ways import COUNTER_SD_FRACTION, HAND_CUT_SD_FRACTION, ONE_LOAD_SD_FRACTION
from evenground.harvest.mass import StripMass

# Two weighed strips can agree with a counter by chance; no estimate is told to be better than this. Judgement.
LEAST_SD_FRACTION = 0.01


@dataclass(frozen=True)
class Rate:
    """What one unit of an estimate is in fresh mass.

    Attributes
    ----------
    per_unit : float
        Weighed mass over estimated amount [t per kg counted, or t per m3].
    sd_fraction : float
        How far it may be off, for all strips alike [1].
    own_sd_fraction : float
        How far one strip lies from it besides [1].
    label : str
        What it is called.
    """

    per_unit: float
    sd_fraction: float
    own_sd_fraction: float
    label: str


def counter_rate(pairs: Sequence[tuple[float, float]], label: str) -> Rate:
    """Hold a counter against weighed strips.

    Parameters
    ----------
    pairs : sequence of (float, float)
        Weighed mass [t] and what the counter said [kg], a strip each; at least one.
    label : str
        Name of the calibration.

    Raises
    ------
    ValueError
        Without a weighed strip.

    Source: ratio estimator, sum over sum; its error from the scatter of the single ratios (Cochran, Sampling
    Techniques, from memory).
    """
    if not pairs:
        raise ValueError("a counter needs at least one weighed strip")
    per_unit = math.fsum(t for t, _ in pairs) / math.fsum(kg for _, kg in pairs)
    if len(pairs) == 1:
        return Rate(per_unit, COUNTER_SD_FRACTION, COUNTER_SD_FRACTION, label)
    spread = statistics.stdev(t / kg / per_unit for t, kg in pairs)
    return Rate(per_unit, spread / math.sqrt(len(pairs)), spread, label)


def trailer_rate(weighed: Sequence[tuple[float, float, int]]) -> Rate:
    """Say what a cubic metre in the trailers weighs.

    Parameters
    ----------
    weighed : sequence of (float, float, int)
        Weighed mass [t], volume [m3] and number of loads, a strip each; at least one.

    Raises
    ------
    ValueError
        Without a weighed strip.
    """
    if not weighed:
        raise ValueError("counted trailers need at least one weighed load")
    per_unit = math.fsum(t for t, _, _ in weighed) / math.fsum(v for _, v, _ in weighed)
    loads = sum(n for _, _, n in weighed)
    return Rate(per_unit, ONE_LOAD_SD_FRACTION / math.sqrt(loads), ONE_LOAD_SD_FRACTION, "mass per cubic metre")


def with_estimates(
    masses: Mapping[int, StripMass],
    estimates: Iterable[MassEstimate],
    grounds_m2: Mapping[int, float],
    spacings_m: Mapping[int, float],
) -> dict[int, StripMass]:
    """Give strips that never saw a scale the mass that counter, trailers or hand cuts say.

    A strip with a load of its own keeps what the scale says, even if that is still missing.

    Parameters
    ----------
    masses : mapping of int to StripMass
        From the scales.
    estimates : iterable of MassEstimate
        All records, corrections included; those that name one strip count.
    grounds_m2 : mapping
        Strip to its weighed cut [m2].
    spacings_m : mapping
        Strip to its row spacing [m].
    """
    counting = [e for e in current(estimates) if len(e.strips) == 1]
    rates = _rates(masses, counting)
    out = dict(masses)
    for strip, mass in masses.items():
        mine = [e for e in counting if e.strips == (strip,)]
        if mine and mass.fresh_t is None and not mass.has_load:
            out[strip] = _estimated(mine[-1], rates, grounds_m2[strip], spacings_m[strip])
    return out


def _rates(masses: Mapping[int, StripMass], estimates: Sequence[MassEstimate]) -> dict[tuple[str, str], Rate]:
    """Calibrate each counter setting and the trailers on strips that were weighed too."""
    pairs: dict[tuple[str, str], list[tuple[float, float, int]]] = {}
    for e in estimates:
        mass = masses.get(e.strips[0])
        amount = e.mass_kg if e.way == "counter" else e.volume_m3
        if e.way != "hand_cut" and mass is not None and mass.fresh_t is not None and amount and not mass.weighed_with:
            pairs.setdefault((e.way, e.calibration), []).append((mass.fresh_t, amount, e.loads))
    return {
        key: trailer_rate(found)
        if key[0] == "trailers"
        else counter_rate([(t, kg) for t, kg, _ in found], f"counter{' ' + key[1] if key[1] else ''}")
        for key, found in pairs.items()
    }


def _estimated(e: MassEstimate, rates: Mapping[tuple[str, str], Rate], ground_m2: float, spacing_m: float) -> StripMass:
    if e.way == "hand_cut" and e.mass_kg and e.rows and e.length_m:
        fresh = e.mass_kg / 1000.0 * ground_m2 / (e.rows * spacing_m * e.length_m)
        note = f"cut by hand, {e.rows} rows x {e.length_m:g} m; {_off(HAND_CUT_SD_FRACTION)}"
        return StripMass(fresh, (note,), estimated_sd_fraction=HAND_CUT_SD_FRACTION)
    rate = rates.get((e.way, e.calibration))
    words = "the harvester's counter" if e.way == "counter" else "counted trailers"
    amount = e.mass_kg if e.way == "counter" else e.volume_m3
    if rate is None or amount is None:
        since = f" since calibration {e.calibration}" if e.calibration else ""
        return StripMass(None, (f"it has {words} only, and no weighed strip to hold it against{since}",))
    fresh = rate.per_unit * amount
    own = max(LEAST_SD_FRACTION, rate.own_sd_fraction / (1.0 if e.way == "counter" else math.sqrt(e.loads)))
    note = f"mass by {words}; {_off(own)}, and {100 * rate.sd_fraction:.0f} % for all such strips alike"
    return StripMass(fresh, (note,), errors={rate.label: fresh * rate.sd_fraction}, estimated_sd_fraction=own)


def _off(sd_fraction: float) -> str:
    return f"it may be {100 * sd_fraction:.0f} % off"
