"""Strips as GeoJSON: all draws survive to the last digit; what was changed by hand is noticed."""

from __future__ import annotations

import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests import any_trials, small_trial

from evenground.adapters.strips_file import draw_problems, read_strips, strips_text

DRAW = small_trial.draw()
AGAIN = DRAW.model_copy(update={"number": 2, "reason": "the planter came with six rows"})


@settings(max_examples=40, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(st.integers(1, 3).flatmap(lambda n: st.tuples(*(any_trials.draws(i + 1) for i in range(n)))))
def test_all_draws_written_are_read_the_same(draws):
    assert read_strips(strips_text(draws).encode()) == (draws, [])


def content():
    return json.loads(strips_text([DRAW, AGAIN]))


def test_the_map_shows_the_last_draw_with_its_numbers():
    features = content()["features"]
    assert [f["properties"]["role"] for f in features[:2]] == ["strip", "weighed_cut"]
    assert len(features) == 2 * len(DRAW.strips)
    first = features[0]
    assert first["properties"]["method"] == DRAW.strips[0].method
    assert first["properties"]["cut_area_m2"] == DRAW.strips[0].cut_area_m2
    ring = first["geometry"]["coordinates"][0]
    assert ring[0] == ring[-1]
    assert all(
        abs(a - b) <= 5e-10
        for at, meant in zip(ring, DRAW.strips[0].outline, strict=True)
        for a, b in zip(at, meant, strict=True)
    )


def faults(change, letters=("A", "B")):
    data = content()
    change(data)
    _, found = read_strips(json.dumps(data).encode(), letters)
    return [(p.file, p.field, p.given) for p in found]


def strip_of(data, draw=1, n=0):
    return data["evenground"]["draws"][draw]["strips"][n]


@pytest.mark.parametrize(
    ("change", "field", "given"),
    [
        (lambda d: d.pop("evenground"), "evenground", ""),
        (lambda d: strip_of(d, n=1).update(strip=1), "evenground.draws[1].strips", "1"),
        (lambda d: strip_of(d).update(method="C"), "evenground.draws[1].strips[0].method", "C"),
        (lambda d: strip_of(d).update(width_m=-1), "evenground.draws[1].strips[0].width_m", "-1"),
        (lambda d: d["evenground"]["draws"].pop(0), "evenground.draws[0].number", "2"),
        (lambda d: d["evenground"]["draws"][1].update(reason=""), "evenground.draws[1].reason", ""),
        (lambda d: d["evenground"]["draws"][1].update(strips=[]), "evenground.draws[1].strips", ""),
        (lambda d: d["features"][0]["properties"].update(method="B"), "features[0].properties", "strip 1: (1, 'B')"),
    ],
)
def test_changes_by_hand_are_noticed(change, field, given):
    assert ("strips.geojson", field, given) in faults(change)


def test_letters_of_earlier_draws_are_not_asked():
    assert faults(lambda d: strip_of(d, draw=0).update(method="Z")) == []


def test_what_is_no_json_is_a_problem():
    assert read_strips(b"[]")[1][0].field == "evenground"
    assert "JSON" in read_strips(b"{")[1][0].message


def test_a_first_draw_needs_no_reason():
    assert draw_problems(DRAW, 1, ["A", "B"]) == []
