"""Records against each other, the plan and the draw: every contradiction is found, and nothing else."""

from __future__ import annotations

from datetime import datetime

import pytest
from tests import small_trial as t

from evenground.basis.consistency import record_problems
from evenground.basis.observations import Records

DRAW = t.draw()
SEASON = t.whole_season(DRAW)


def found(draw=DRAW, **kinds):
    """Problems of a whole season with more records at the end."""
    more = {k: (*getattr(SEASON, k), *v) for k, v in kinds.items()}
    records = Records.model_validate({**dict(SEASON), **more})
    return [(p.file, p.field, p.given) for p in record_problems(t.plan(), draw, records)]


def test_a_whole_season_is_sound():
    assert found() == []


@pytest.mark.parametrize(
    ("kinds", "told"),
    [
        ({"loads": [t.load(99)]}, ("records/loads.csv", "strips", "99")),
        ({"samples": [t.sample("3+77", 33.0)]}, ("records/samples.csv", "strips", "77")),
        ({"loads": [t.load(1)]}, ("records/loads.csv", "id", "L1-1")),
        ({"weighings": [t.weighing("L50", 900)]}, ("records/weighings.csv", "load", "L50")),
        ({"weighings": [t.weighing("L1-1", 900, n=2, replaces="W9")]}, ("records/weighings.csv", "replaces", "W9")),
        ({"events": [t.event(1, "sown", n=2, method="C")]}, ("records/events.csv", "method", "C")),
        ({"events": [t.event(1, "other", when=datetime(2019, 5, 1))]}, ("records/events.csv", "time", "2019-05-01")),
        (
            {"weather": [SEASON.weather[0].model_copy(update={"id": "again"})]},
            ("records/weather.csv", "day", "2025-04-28"),
        ),
    ],
)
def test_each_contradiction_is_named(kinds, told):
    assert found(**kinds) == [told]


def test_loads_before_sowing_and_weighings_before_harvest():
    early = t.load(1, n=2).model_copy(update={"time": datetime(2025, 4, 1)})
    assert found(loads=[early]) == [("records/loads.csv", "time", "2025-04-01")]
    slip = t.weighing("L1-1", 900, n=2).model_copy(update={"time": datetime(2025, 9, 1)})
    assert found(weighings=[slip]) == [("records/weighings.csv", "time", "2025-09-01")]


def test_without_a_draw_strip_numbers_are_not_asked():
    assert found(draw=None, loads=[t.load(99)]) == []


def test_a_corrected_record_is_left_in_peace():
    wrong = t.load(99)
    assert found(loads=[wrong, t.load(1, n=2, replaces="L99-1")]) == []


def test_a_weighing_of_a_corrected_load_is_asked():
    assert found(loads=[t.load(1, n=2, replaces="L1-1")]) == [("records/weighings.csv", "load", "L1-1")]


def test_corrections_stand_in_a_line():
    again = [t.sample(1, 34.0, n=2, replaces="S1-1"), t.sample(1, 35.0, n=3, replaces="S1-2")]
    assert found(samples=again) == []
    fork = [t.sample(1, 34.0, n=2, replaces="S1-1"), t.sample(1, 35.0, n=3, replaces="S1-1")]
    assert set(found(samples=fork)) == {("records/samples.csv", "replaces", "S1-1")}
    backwards = [t.sample(1, 34.0, n=2, replaces="S1-3"), t.sample(1, 35.0, n=3)]
    assert found(samples=backwards) == [("records/samples.csv", "replaces", "S1-3")]


def test_with_lines_missing_only_what_stands_alone_is_asked():
    records = Records(weighings=SEASON.weighings, loads=(t.load(99),))
    (only,) = record_problems(t.plan(), DRAW, records, {("loads", 0): ("records/loads.csv", 7)}, complete=False)
    assert (only.file, only.row, only.field) == ("records/loads.csv", 7, "strips")
