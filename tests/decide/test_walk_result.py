"""The crop walk beside the verdict: paired differences, the strip as the unit; root pits change nothing."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import numpy as np
import pytest
from scipy import stats
from tests import small_trial as small

from evenground.basis.observations import CutPlants, Records, RootPit, Scores
from evenground.decide.verdict import verdict
from evenground.decide.verdict_json import as_dict
from evenground.decide.walk_result import WalkResult, walk_result
from evenground.harvest.strips import harvest

DRAW = small.draw()
WHOLE = small.whole_season(DRAW)
# Blocks differ more than strips within them.
COVER = dict(zip(range(1, 17), [31, 34, 42, 40, 36, 38, 53, 51, 29, 30, 47, 44, 35, 33, 21, 25], strict=True))


def scores(**values: Any) -> list[Scores]:
    return [
        Scores.model_validate(
            {"id": f"s{s}", "time": datetime(2025, 6, 9, 10), "strips": (s,), "ground_cover_percent": c, **values}
        )
        for s, c in COVER.items()
    ]


def of(records: Records) -> WalkResult:
    return walk_result(small.plan(), DRAW, records, harvest(small.plan(), DRAW, records))


def test_difference_and_interval_are_those_of_the_paired_t_test() -> None:
    row = of(small.replaced(WHOLE, scores=scores())).rows[0]
    by_method = {m: np.array([float(COVER[s.strip]) for s in DRAW.strips if s.method == m]) for m in "AB"}
    apart = by_method["B"] - by_method["A"]  # one of each a block, in the order of the blocks
    test = stats.ttest_rel(by_method["B"], by_method["A"])
    low, high = test.confidence_interval(small.plan().advice.level)
    (got,) = row.results
    assert got.difference == pytest.approx(apart.mean())
    # Reference library: scipy.stats.ttest_rel. Two methods in complete blocks with a block variance above zero: REML
    # gives the paired test's interval; 1e-3 for the search of the variances.
    assert got.interval == pytest.approx((low, high), rel=1e-3)
    assert row.means == {m: pytest.approx(v.mean()) for m, v in by_method.items()}
    assert row.strips == {"A": 8, "B": 8}


def test_cobs_and_cobless_plants_cut_by_hand_stand_on_the_walk_once() -> None:
    cut = [
        CutPlants(id=f"k{s.strip}", time=datetime(2025, 9, 1), strips=(s.strip,), plants=10, cobs=9 + s.strip % 2,
                  cobless_plants=s.strip % 3)
        for s in DRAW.strips
    ]  # fmt: skip
    records = small.replaced(WHOLE, cut_plants=cut, scores=scores())
    found = verdict(small.stored(None, None, records), today=date(2025, 10, 1), version="9")
    names = [s.outcome for s in found.side_results]
    assert names.count("cobs per plant") == 1
    assert names.count("ground cover, 9\xa0Jun\xa02025") == 1
    assert found.walk is not None
    assert [r.what for r in found.walk.rows][-2:] == ["cobs per plant", "cobless plants"]


def test_root_pits_are_shown_and_change_nothing() -> None:
    pits = [RootPit(id="p", time=datetime(2025, 7, 20), strips=(2,), deepest_root_cm=90.0)]
    today = date(2025, 10, 1)
    without = verdict(small.stored(None, None, WHOLE), today=today, version="9")
    found = verdict(small.stored(None, None, small.replaced(WHOLE, root_pits=pits)), today=today, version="9")
    assert without.walk is None
    assert found.walk is not None
    assert found.walk.walk.pits[0].deepest_root_cm == 90.0
    first, second = as_dict(without), as_dict(found)
    first.pop("provenance"), second.pop("provenance")
    assert first == second


def test_a_strip_scored_before_it_was_lost_counts_and_one_never_sown_does_not() -> None:
    lost = small.event(16, "strip_lost", when=datetime(2025, 8, 1))
    never = small.event(15, "not_sown", when=small.DAY)
    events = [e for e in WHOLE.events if 15 not in e.strips]
    row = of(small.replaced(WHOLE, scores=scores(), events=[*events, lost, never])).rows[0]
    assert sum(row.strips.values()) == 15


def test_two_strips_alone_give_means_but_no_difference() -> None:
    row = of(small.replaced(WHOLE, scores=scores()[:2])).rows[0]
    assert row.results == ()
    assert row.as_dict()["differences"] == []
