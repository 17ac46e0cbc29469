"""Invented days joined and judged: ``python -m tests.harvest.many_days 4000`` prints the counts of docs/harvest.md."""

import sys
from collections import Counter

from tests import small_trial as small
from tests.harvest.generated_day import MISHAPS, generated_day

from evenground.harvest.strips import harvest

PLAN = small.plan()
DRAW = small.draw()
# One strip's mass is right if it is within two loads' tare drift of twice 25 kg each and their rounding.
NEAR_T = 0.23


def a_day(seed, *, numbered):
    """Return a day on which anything happens: one in four with a clock an hour off, one in five past midnight.

    Without numbers a forgotten load leaves no trace where its trailer held another one too, so no rule can find it;
    such days have no forgotten load.
    """
    mishaps = MISHAPS if numbered else tuple(m for m in MISHAPS if m != "load_forgotten")
    clock, midnight = seed % 4 == 0, seed % 5 == 0
    return generated_day(seed, mishaps=mishaps, rate=0.03, clock=clock, midnight=midnight, numbered=numbered)


def judged(day):
    """Return strips that are wrong and not flagged, wrong but flagged, right, and open."""
    got = harvest(PLAN, DRAW, day.records)
    loads = {n: {x.id for x in day.records.loads if n in x.strips} for n in range(1, 17)}
    out = {"silent": [], "flagged": [], "right": [], "open": []}
    for s in got.strips:
        if s.fresh_t is None:
            assert s.notes, f"strip {s.strip} is missing without a word"
            out["open"].append(s.strip)
            continue
        truth = day.truth_t[s.strip]
        if s.weighed_with:
            unit = [s.strip, *s.weighed_with]
            truth = sum(day.truth_t[n] for n in unit) / len(unit)
        if abs(s.fresh_t - truth) <= NEAR_T:
            out["right"].append(s.strip)
            continue
        named = any(load in note.replace(";", " ").split() for note in got.notes for load in loads[s.strip])
        named |= any(f"load of strip {s.strip} " in note for note in got.notes)
        out["flagged" if s.notes or named else "silent"].append(s.strip)
    return out, got


def main(days):
    """Count strips over many days and name the days with a wrong one nobody was told of."""
    total = Counter()
    for seed in range(5000, 5000 + days):
        found, _ = judged(a_day(seed, numbered=seed % 2 == 0))
        total.update({kind: len(strips) for kind, strips in found.items()})
        if found["silent"]:
            print(f"day {seed}: strips {found['silent']}")
    print(dict(total))


if __name__ == "__main__":
    main(int(sys.argv[1]))
