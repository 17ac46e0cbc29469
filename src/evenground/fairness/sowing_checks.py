"""Checks on what was written down while sowing: seed lots and speed."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from evenground.fairness.check import Check
from evenground.fairness.seen import Seen, State, against, finding, not_told, setting_check

# From where on a difference of speed is named. Common practice, no source.
SPEED_KM_PER_H = 0.5


def seed_lots(seen: Seen) -> Check:
    """Ask whether one seed lot went into everything: by the entries of the day, else by the plan."""
    why = "Two lots of one hybrid can come up differently."
    lots = seen.plan.trial.seed_lots
    by_strip = {s.strip: s.seed_lots for s in seen.as_sown if seen.sown[s.strip] in seen.pair and not s.not_sown}
    if any(by_strip.values()):
        state, found = _recorded_lots(seen, by_strip)
    elif (silent := not_told(seen, "seed lots", why)) is not None:
        return silent
    else:
        state = "alike" if lots == 1 else "unknown"
        found = "one lot for all methods in the plan" if lots == 1 else f"{lots} lots; which went where is not recorded"
    action = "Write down that every lot went into every method, or note which did not."
    return finding(seen, "seed lots", state, why, found, action)


def _recorded_lots(seen: Seen, by_strip: Mapping[int, Sequence[str]]) -> tuple[State, str]:
    """Compare the lots of both methods; a strip sown from two lots counts half for each."""
    lots = sorted({lot for mine in by_strip.values() for lot in mine})
    silent = sum(not mine for mine in by_strip.values())
    shares = {letter: [_lot_share(seen, by_strip, letter, lot) for lot in lots] for letter in seen.pair}
    said = "; ".join(
        f"{letter} " + ", ".join(f"{n:g} of lot {lot}" for lot, n in zip(lots, shares[letter], strict=True) if n)
        for letter in seen.pair
        if any(shares[letter])
    )
    if silent:
        planned = {one.lot for one in seen.plan.seed.lots}
        one = len(lots) == 1 and seen.plan.trial.seed_lots == 1 and (not planned or set(lots) <= planned)
        return "alike" if one else "unknown", f"strips: {said}; {silent} without a lot"
    new, old = (
        [n / sum(shares[letter]) for n in shares[letter]] if any(shares[letter]) else [] for letter in seen.pair
    )
    alike = len(lots) == 1 or (len(new) == len(old) and all(map(math.isclose, new, old)))
    return "alike" if alike else "differs", f"strips: {said}"


def _lot_share(seen: Seen, by_strip: Mapping[int, Sequence[str]], letter: str, lot: str) -> float:
    return math.fsum(1.0 / len(mine) for s, mine in by_strip.items() if seen.sown[s] == letter and lot in mine)


def speed(seen: Seen) -> Check:
    """Compare driving speeds within blocks: as sown where both were written down, else in the plan."""
    why = "A faster planter spaces the seed less evenly."
    planned = setting_check("speed", why, "km/h", lambda m: m.speed_km_per_h)(seen)
    step = seen.within_blocks({s.strip: s.speed_km_per_h for s in seen.as_sown if s.speed_km_per_h is not None})
    if step is None:
        return planned
    state: State = "differs" if abs(step) > SPEED_KM_PER_H else "alike"
    found = against(seen, step, "km/h", "faster", "slower") + " as sown"
    asked = seen.settings_asked.get("speed", False)
    return finding(seen, "speed", state, why, found, "Drive both alike; tell both drivers.", asked=asked)
