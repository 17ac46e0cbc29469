"""Two trailers going round in step: an hour is nearly a whole number of rounds, and no clock may be moved for that."""

from datetime import datetime, timedelta

import numpy as np
from tests import small_trial as small

from evenground.basis.observations import Load, Weighing
from evenground.harvest.clock import hour_off
from evenground.harvest.strips import harvest

PLAN, DRAW = small.plan(), small.draw()
NEAR_T = 0.1  # two loads to 20 kg each; the truth is not rounded


def minutes(x):
    return timedelta(minutes=round(float(x)))


def regular_day(seed):
    """Records of a day whose clocks are right, and what every strip gave [t].

    Rounds of 24 to 34 minutes; up to four slips lost; up to four slips of other crops, each just after one of ours.
    """
    rng = np.random.default_rng(seed)
    start, loads, slips, truth = datetime(2025, 9, 9, 8, 0), [], [], dict.fromkeys(range(1, 17), 0.0)
    round_min, jitter = float(rng.choice([24, 28, 30, 34])), float(rng.choice([0.0, 1.0, 2.0]))
    for n in range(32):
        strip, trailer, kg = n // 2 + 1, ("red", "green")[n % 2], float(rng.normal(3300, 250))
        truth[strip] += kg / 1000
        filled = start + minutes(n * round_min / 2 + rng.normal(0, jitter))
        weighed = filled + minutes(0.75 * round_min + rng.normal(0, jitter))
        loads.append(Load(id=f"L{n}", time=filled, strips=str(strip), trailer=trailer))
        gross = 20 * round((kg + 9000) / 20)
        slips.append(Weighing(id=f"W{n}", time=weighed, trailer=trailer, gross_kg=gross, tare_kg=9000))
    lost = set(rng.choice(32, int(rng.integers(0, 5)), replace=False).tolist())
    kept = [w for n, w in enumerate(slips) if n not in lost]
    for k in range(int(rng.integers(0, 5))):
        ours = kept[int(rng.integers(len(kept)))]
        later = {"id": f"X{k}", "time": ours.time + minutes(4), "gross_kg": 12_300 + 20 * k}
        kept.append(ours.model_copy(update=later))
    return small.replaced(small.whole_season(DRAW), loads=loads, weighings=kept), truth


def test_no_clock_is_moved_and_no_strip_is_silently_wrong():
    right = 0
    for seed in range(7000, 7120):
        records, truth = regular_day(seed)
        got = harvest(PLAN, DRAW, records)
        assert not any("were moved" in note for note in got.notes), seed
        known = [s for s in got.strips if s.fresh_t is not None]
        wrong = [s.strip for s in known if abs(s.fresh_t - truth[s.strip]) > NEAR_T]
        assert not wrong, (seed, wrong)
        right += len(known)
    assert right > 0.4 * 16 * 120  # what is left open is asked about, and not everything is


def test_a_shift_must_explain_half_of_what_is_left_over():
    left = {0: 13, -1: 9, 1: 15}

    def left_over(shifts):
        return left[round(sum(by.total_seconds() for by in shifts.values()) / 3600)]

    assert hour_off({"bridge": True}, left_over) == ({}, ("bridge",))
    left[-1] = 6
    assert hour_off({"bridge": True}, left_over)[0] == {"bridge": timedelta(hours=-1)}
